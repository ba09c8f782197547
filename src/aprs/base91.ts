import { bad, good, type Result } from '../ax25/result.js'

const base = 91
const firstCode = 33

/** Largest number that `characterCount` base-91 characters hold. */
export const base91Max = (characterCount: number): number => base ** characterCount - 1

/** Reads base-91 characters `!` to `{`, highest first (ch. 9). */
export function decodeBase91(text: string): Result<number> {
  if (!/^[!-{]+$/.test(text)) return bad(`'${text}' is not base 91`)
  let value = 0
  for (const character of text) value = value * base + character.charCodeAt(0) - firstCode
  return good(value)
}

/**
 * @param value a whole number from 0
 * @throws RangeError if it does not fit
 */
export function encodeBase91(value: number, characterCount: number): string {
  if (!Number.isInteger(value) || value < 0 || value > base91Max(characterCount)) {
    throw new RangeError(`base 91: ${value} does not fit ${characterCount} characters`)
  }
  let text = ''
  let rest = value
  for (let at = 0; at < characterCount; at++) {
    text = String.fromCharCode((rest % base) + firstCode) + text
    rest = Math.floor(rest / base)
  }
  return text
}
