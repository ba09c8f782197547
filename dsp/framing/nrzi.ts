// NRZI as used with 1200 baud AFSK: a 0 changes the line level (the tone), a 1 leaves it (common use; AX.25 does not say it).

/**
 * @param bits one bit (0 or 1) an element
 * @param idleLevel level before the first bit; receivers do not care
 * @returns line levels, one a bit: 1 is the mark tone, 0 the space tone
 */
export function encodeNrzi(bits: Uint8Array, idleLevel: 0 | 1 = 1): Uint8Array {
  const levels = new Uint8Array(bits.length)
  let level: number = idleLevel
  for (let index = 0; index < bits.length; index++) {
    level ^= bits[index]! ^ 1
    levels[index] = level
  }
  return levels
}

/** The inverse of encodeNrzi. */
export function decodeNrzi(levels: Uint8Array, idleLevel: 0 | 1 = 1): Uint8Array {
  const bits = new Uint8Array(levels.length)
  let previous: number = idleLevel
  for (let index = 0; index < levels.length; index++) {
    bits[index] = levels[index]! ^ previous ^ 1
    previous = levels[index]!
  }
  return bits
}
