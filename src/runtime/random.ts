/** Uniform on 0 (included) to 1 (excluded). */
export type Random = () => number

const idDraws = 5
const idAlphabet = 'abcdefghijklmnopqrstuvwxyz234567'

/**
 * 16 letters and digits, 80 bits: unlike any other, of whichever process and database, as long as `random` is seeded
 * by the machine. 16 bits are taken of each draw, which every generator has.
 */
export function randomId(random: Random): string {
  let bits = 0n
  for (let draw = 0; draw < idDraws; draw++)
    bits = (bits << 16n) | BigInt(Math.floor(random() * 65_536))
  let id = ''
  for (let shift = 0n; shift < 80n; shift += 5n) id += idAlphabet[Number((bits >> shift) & 31n)]
  return id
}

/**
 * A seeded generator for tests, the demo and the simulation: the same seed gives the same run on every machine.
 * @param seed any integer; only its low 32 bits count
 * @see Mulberry32, a public-domain 32-bit mixer (from memory)
 */
export function seededRandom(seed: number): Random {
  let state = seed >>> 0
  return () => {
    state = (state + 0x6d2b79f5) >>> 0
    let mixed = Math.imul(state ^ (state >>> 15), state | 1)
    mixed ^= mixed + Math.imul(mixed ^ (mixed >>> 7), mixed | 61)
    return ((mixed ^ (mixed >>> 14)) >>> 0) / 2 ** 32
  }
}
