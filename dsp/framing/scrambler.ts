// The scrambler of 9600 bit/s, polynomial 1 + x^12 + x^17: it synchronises itself, so that a receiver needs 17 bits and no more.
// Source: J. Miller, 9600 Baud Packet Radio Modem Design, ARRL 7th Computer Networking Conference, 1988; the figures in
// test/published/fec.json (bits_9600) were computed from that.

/** Bits that one bit depends on besides itself: after a wrong one so many more until all is right again. */
export const scramblerBits = 17

/**
 * What is sent, behind NRZI: out[n] = in[n] xor out[n - 12] xor out[n - 17], from a register of zeros.
 * @param bits one (0 or 1) an element
 */
export function scramble(bits: Uint8Array): Uint8Array {
  const scrambled = new Uint8Array(bits.length)
  for (let n = 0; n < bits.length; n++)
    scrambled[n] = bits[n]! ^ (scrambled[n - 12] ?? 0) ^ (scrambled[n - 17] ?? 0)
  return scrambled
}

/** The inverse, bit by bit: in[n] = out[n] xor out[n - 12] xor out[n - 17]. Levels may be all inverted: so is then what comes out. */
export interface Descrambler {
  push(bit: number): number
  reset(): void
}

export function createDescrambler(): Descrambler {
  /** the latest bit lowest */
  let register = 0
  return {
    push(bit) {
      const plain = bit ^ ((register >>> 11) & 1) ^ ((register >>> 16) & 1)
      register = ((register << 1) | bit) & 0x1ffff
      return plain
    },
    reset() {
      register = 0
    },
  }
}
