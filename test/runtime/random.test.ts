import { describe, expect, it } from 'vitest'
import { randomId, seededRandom } from '../../src/runtime/random.js'

describe('randomId', () => {
  it('is 16 letters and digits of 80 bits, each of which varies', () => {
    const random = seededRandom(5)
    const ids = Array.from({ length: 2000 }, () => randomId(random))
    expect(new Set(ids).size).toBe(2000)
    expect(ids.every((id) => /^[a-z2-7]{16}$/.test(id))).toBe(true)
    for (let at = 0; at < 16; at++) expect(new Set(ids.map((id) => id[at])).size).toBe(32)
  })

  it('takes the smallest and the largest that a generator gives', () => {
    expect(randomId(() => 0)).toBe('a'.repeat(16))
    expect(randomId(() => 1 - 2 ** -53)).toBe('7'.repeat(16))
  })
})
