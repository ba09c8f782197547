import { type Fx25Code, fx25Codes } from './fx25.js'

/**
 * Wrong bits that a tag may have: two tags differ in 32, so they are never mixed up. Of random bits one place in 3e8 looks like
 * a tag then: once in three days of noise (computed), and the check octets have their say too.
 */
const wrongBitsMax = 8

export interface TagWatch {
  /**
   * @param bit data bit, after NRZI
   * @returns the code whose tag ends with this bit
   */
  push(bit: number): Fx25Code | undefined
}

/** Looks for FX.25's tags at every bit. */
export function createTagWatch(): TagWatch {
  let low = 0
  let high = 0
  return {
    push(bit) {
      low = (low >>> 1) | (high << 31)
      high = (high >>> 1) | (bit << 31)
      for (const code of fx25Codes) {
        const wrong = countOnes(low ^ code.tagLow)
        if (wrong <= wrongBitsMax && wrong + countOnes(high ^ code.tagHigh) <= wrongBitsMax)
          return code
      }
      return undefined
    },
  }
}

/** Of 32 bits, added up in pairs, fours, eights (H. S. Warren, Hacker's Delight, section 5-1; from memory). */
function countOnes(word: number): number {
  let x = word - ((word >>> 1) & 0x55555555)
  x = (x & 0x33333333) + ((x >>> 2) & 0x33333333)
  return Math.imul((x + (x >>> 4)) & 0x0f0f0f0f, 0x01010101) >>> 24
}
