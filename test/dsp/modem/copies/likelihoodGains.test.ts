// How much better a copy likes its own path, against the log-likelihood by its definition.
import { expect, it } from 'vitest'
import { likelihoodGains } from '../../../../dsp/modem/copies/likelihoodGains.js'
import type { Burst } from '../../../../dsp/modem/secondPass/model.js'
import { seededRandom } from '../../../../src/runtime/random.js'
import { burstOf, likelihoodOf, spaceTurnRadians } from '../burstByHand.js'

const count = 24

/** By symbol; a path's phase is its own, but never more than three spaces from that of the burst's tones. */
function likelihoods(burst: Burst, path: Uint8Array): number[] {
  let [phase, spacesMore] = [0, 0]
  return Array.from({ length: count }, (_, k) => {
    const decided = burst.tones[k]!
    const worth = likelihoodOf(burst, k, path[k]!, phase + spacesMore * spaceTurnRadians)
    if (decided === 0) phase += spaceTurnRadians
    spacesMore = Math.max(-3, Math.min(3, spacesMore + decided - path[k]!))
    return worth
  })
}

const random = seededRandom(9)
const draw = (): number[] => Array.from({ length: count }, () => Math.floor(2 * random()))

it.each([
  ['its own tones against others', draw(), draw()],
  ['nothing but spaces against nothing but marks', draw().fill(0), draw().fill(1)],
  ['nothing but marks against nothing but spaces', draw().fill(1), draw().fill(0)],
])('%s', (_what, own, path) => {
  for (const decided of [own, draw(), draw().fill(1), draw().fill(0)]) {
    const burst = burstOf(decided, 4)
    const [ownTones, pathTones] = [Uint8Array.from(own), Uint8Array.from(path)]
    const [a, b] = [likelihoods(burst, ownTones), likelihoods(burst, pathTones)]
    const gains = likelihoodGains(burst, pathTones, ownTones)
    expect(gains).toHaveLength(count)
    gains.forEach((gain, k) => {
      expect(gain).toBeCloseTo(a[k]! - b[k]!, 6)
    })
    expect([...likelihoodGains(burst, ownTones, ownTones)]).toEqual(new Array(count).fill(0))
  }
})
