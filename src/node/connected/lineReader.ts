/** What came of a line, or that one was longer than any line may be. */
export type TypedLine =
  | { readonly ok: true; readonly text: string }
  | { readonly ok: false; readonly reason: 'too long' }

/** Cuts the octets of a connection into lines, as a person types them. */
export interface LineReader {
  push(octets: Uint8Array): TypedLine[]
  reset(): void
}

const carriageReturn = 0x0d
const lineFeed = 0x0a
const backspaces = new Set([0x08, 0x7f])

/**
 * A line ends with CR, LF or both. Text is UTF-8; what is none becomes a sign for that. Backspace takes back a character, other
 * control characters are left out. A line that is too long is told once, and left out up to its end.
 */
export function lineReader(octetsMax: number): LineReader {
  let line: number[] = []
  let skipping = false
  let afterReturn = false

  const end = (): TypedLine | undefined => {
    const text = new TextDecoder().decode(Uint8Array.from(line)).replace(/\p{Cc}/gu, '')
    line = []
    if (!skipping) return { ok: true, text }
    skipping = false
    return undefined
  }

  const take = (octet: number): TypedLine | undefined => {
    if (octet === carriageReturn || octet === lineFeed) {
      const isSecond = octet === lineFeed && afterReturn
      afterReturn = octet === carriageReturn
      return isSecond ? undefined : end()
    }
    afterReturn = false
    if (skipping) return undefined
    if (backspaces.has(octet)) takeBack(line)
    else if (octet === 0x09) line.push(0x20)
    else if (octet >= 0x20) line.push(octet)
    if (line.length <= octetsMax) return undefined
    line = []
    skipping = true
    return { ok: false, reason: 'too long' }
  }

  return {
    push: (octets) =>
      [...octets].flatMap((octet) => {
        const typed = take(octet)
        return typed === undefined ? [] : [typed]
      }),
    reset() {
      line = []
      skipping = false
      afterReturn = false
    },
  }
}

/** A character of UTF-8 may be of several octets; those behind the first begin with the bits 10. */
function takeBack(line: number[]): void {
  while (line.length > 0 && (line.pop()! & 0xc0) === 0x80) {
    // the first octet of the character goes last
  }
}
