import { createHmac, timingSafeEqual } from 'node:crypto'

export type HashName = 'sha1' | 'sha256' | 'sha512'

const codeDigitsMin = 6
export const codeDigitsMax = 8

/**
 * A code that is good once: HMAC of the counter, cut down to decimal digits.
 * @param secret shared by the station and its control operator; at least 16 octets (RFC 4226, R6)
 * @param counter of this code, 0 to 2^53 - 1
 * @param digits 6 to 8
 * @throws RangeError for a counter or a number of digits outside these
 * @see RFC 4226, section 5.3; its appendix D is checked in test/control/oneTimeCode.test.ts
 */
export function counterCode(
  secret: Uint8Array,
  counter: number,
  digits: number,
  hash: HashName = 'sha1',
): string {
  if (!Number.isSafeInteger(counter) || counter < 0) throw new RangeError(`counter ${counter}`)
  if (!Number.isInteger(digits) || digits < codeDigitsMin || digits > codeDigitsMax)
    throw new RangeError(`${digits} digits`)
  const message = Buffer.alloc(8)
  message.writeBigUInt64BE(BigInt(counter))
  const mac = createHmac(hash, secret).update(message).digest()
  const offset = mac.at(-1)! & 0x0f
  const truncated = mac.readUInt32BE(offset) & 0x7fff_ffff
  return String(truncated % 10 ** digits).padStart(digits, '0')
}

/** Length of a step of the codes that go by the clock (RFC 6238, section 5.2). */
const timeStepMs = 30_000

/**
 * Counter of the code that is good at a moment.
 * @see RFC 6238, section 4.2, with T0 = 0
 */
export const timeCounter = (wallMs: number): number => Math.max(0, Math.floor(wallMs / timeStepMs))

/**
 * Looks for a code among those that come next.
 * @param counter of the next code that was not used
 * @param window codes that are looked at: a few may have been lost on the air or crossed out on the paper
 * @returns the counter of the code; undefined where none of them is it
 */
export function findCode(
  secret: Uint8Array,
  code: string,
  counter: number,
  window: number,
  hash: HashName = 'sha1',
): number | undefined {
  const digits = code.length
  if (!/^\d+$/.test(code) || digits < codeDigitsMin || digits > codeDigitsMax) return undefined
  let found: number | undefined
  // All are computed, so that the time taken says nothing.
  for (let at = counter + window - 1; at >= counter; at--) {
    const wanted = Buffer.from(counterCode(secret, at, digits, hash))
    if (timingSafeEqual(wanted, Buffer.from(code))) found = at
  }
  return found
}

const base32Letters = 'ABCDEFGHIJKLMNOPQRSTUVWXYZ234567'

/** The form in which programs that show codes take a secret. @see RFC 4648, section 6, without padding */
export function formatBase32(octets: Uint8Array): string {
  let text = ''
  let value = 0
  let bits = 0
  for (const octet of octets) {
    value = ((value << 8) | octet) & 0xfff
    bits += 8
    while (bits >= 5) {
      bits -= 5
      text += base32Letters[(value >> bits) & 31]
    }
  }
  return bits === 0 ? text : text + base32Letters[(value << (5 - bits)) & 31]
}

/** @returns undefined for what is no base32; case, blanks and padding do not matter */
export function parseBase32(text: string): Uint8Array | undefined {
  const letters = text.toUpperCase().replace(/\s/g, '').replace(/=+$/, '')
  const octets: number[] = []
  let value = 0
  let bits = 0
  for (const letter of letters) {
    const digit = base32Letters.indexOf(letter)
    if (digit < 0) return undefined
    value = ((value << 5) | digit) & 0xfff
    bits += 5
    if (bits >= 8) {
      bits -= 8
      octets.push((value >> bits) & 0xff)
    }
  }
  return Uint8Array.from(octets)
}
