// The frame check sequence of AX.25 2.2 section 3.8: ISO 3309's, known as CRC-16/X-25 or CRC-16/IBM-SDLC.
// Polynomial x^16 + x^12 + x^5 + 1, register preset to ones, sent inverted, all in order of least significant bit first.

/** Register before the first octet. */
export const fcsPreset = 0xffff

/** Register after data and a right FCS have run through it (RFC 1662 appendix C, from memory; recomputed in the tests). */
export const fcsResidue = 0xf0b8

/**
 * One octet further.
 * @param register 16 bits, fcsPreset at the start
 * @param octet 0 to 255
 */
export function advanceFcs(register: number, octet: number): number {
  return (register >>> 8) ^ table[(register ^ octet) & 0xff]!
}

/**
 * FCS of a frame's octets.
 * @returns 16 bits; the low octet is sent first
 * @see Catalogue of parametrised CRC algorithms, CRC-16/IBM-SDLC; checked in test/published/fcs.test.ts
 */
export function computeFcs(octets: Uint8Array): number {
  let register = fcsPreset
  for (let index = 0; index < octets.length; index++)
    register = advanceFcs(register, octets[index]!)
  return register ^ 0xffff
}

/** True when the last two octets are the FCS (low octet first) of those before them. */
export function fcsIsRight(octetsWithFcs: Uint8Array): boolean {
  if (octetsWithFcs.length < 2) return false
  let register = fcsPreset
  for (let index = 0; index < octetsWithFcs.length; index++)
    register = advanceFcs(register, octetsWithFcs[index]!)
  return register === fcsResidue
}

const table = buildTable()

/** What eight shifts of the register do to each value of its low octet. */
function buildTable(): Uint16Array {
  const reflectedPolynomial = 0x8408
  const steps = new Uint16Array(256)
  for (let octet = 0; octet < 256; octet++) {
    let register = octet
    for (let bit = 0; bit < 8; bit++)
      register = register & 1 ? (register >>> 1) ^ reflectedPolynomial : register >>> 1
    steps[octet] = register
  }
  return steps
}
