import { describe, expect, it } from 'vitest'
import { randomSession } from './linkRandom.js'
import { faultOf, runSession } from './linkSession.js'

describe('two of our stations', () => {
  it.each([
    ['2.0', 0.1],
    ['2.0', 0.2],
    ['2.2', 0.1],
    ['2.2', 0.2],
  ] as const)('version %s, loss %s: both ways, every octet once and in order', (version, loss) => {
    for (let seed = 1; seed <= 15; seed++) {
      const result = runSession({ seed, version, loss, callerOctets: 3000, calledOctets: 2000 })
      expect([seed, faultOf(result), result.complete]).toEqual([seed, undefined, true])
    }
  })

  it('whatever is lost, doubled or out of order: all arrives, or both ends know that it broke', () => {
    for (let seed = 1; seed <= 60; seed++)
      expect([seed, faultOf(randomSession(seed))]).toEqual([seed, undefined])
  })

  // the figure that issue 23 asks for; 40 rounds of it stand in `npm run bench -- connected`
  it.each(['2.0', '2.2'] as const)(
    'version %s: a letter of 10 kB at 10 %% loss takes less than twice the airtime of a lossless one',
    (version) => {
      const letter = { version, callerOctets: 10_000, calledOctets: 100 }
      const lossless = runSession({ ...letter, seed: 1, loss: 0 })
      const ratios = [1, 2, 3, 4, 5].map((seed) => {
        const result = runSession({ ...letter, seed, loss: 0.1 })
        expect(result.complete).toBe(true)
        return result.airtimeMs / lossless.airtimeMs
      })
      expect(Math.max(...ratios)).toBeLessThan(2)
    },
  )
})
