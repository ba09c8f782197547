/** Uniform on 0 (included) to 1 (excluded). */
export type Random = () => number

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
