// What no receiver without a code can beat at 9600 bit/s in white noise: the rate of error events of a coherent maximum-likelihood
// sequence detector that knows pulse, height and timing. Two sequences of bits that differ by e (each -1, 0 or 1, times 2) give
// signals whose distance is that of
//     d^2(e) = sum over i, k of e[i] e[k] g(i - k) / g(0),   and are taken for each other with Q(sqrt(2 d^2 Eb/N0)),
// g the pulse's correlation with itself (dsp/modem/baseband/pulse.ts), Eb = g(0) times the height squared. Of the sequences sent, a
// share of 2^-(number of bits in e) fits e. The union over all short e that begin with 1, and their opposites, bounds the rate from
// above; its first term, one wrong bit, Q(sqrt(2 Eb/N0)), bounds it from below (and is what binary antipodal signals have).
// Source: G. D. Forney, Maximum-Likelihood Sequence Estimation of Digital Sequences in the Presence of Intersymbol Interference,
// IEEE Trans. Inform. Theory 18, 1972 (from memory; checked against a simulation in test/dsp/modem/baseband).
import { pulseCorrelation } from '../../dsp/modem/baseband/pulse.js'
import { frameSuccess, gaussianTail } from './coherentBound.js'

/** Bits that an error event may last: further ones are less likely by orders of magnitude. */
const lengthMax = 7

interface ErrorEvents {
  /** d^2(e) of each, and the share of sent sequences that it fits, both signs together */
  readonly squaredDistance: number
  readonly share: number
}

const events: readonly ErrorEvents[] = buildEvents()

function buildEvents(): ErrorEvents[] {
  const g = Array.from({ length: lengthMax }, (_, bits) => pulseCorrelation(bits))
  const found: ErrorEvents[] = []
  const extend = (e: readonly number[]): void => {
    if (e.at(-1) !== 0) {
      let sum = 0
      for (const [i, a] of e.entries())
        for (const [k, b] of e.entries()) sum += a * b * g[Math.abs(i - k)]!
      const wrong = e.filter((one) => one !== 0).length
      found.push({ squaredDistance: sum / g[0]!, share: 2 ** (1 - wrong) })
    }
    // Two right bits in a row, and the paths have met again: what follows is another event.
    const hasMet = e.at(-1) === 0 && e.at(-2) === 0
    if (e.length < lengthMax && !hasMet) for (const next of [-1, 0, 1]) extend([...e, next])
  }
  extend([1])
  return found
}

/** Probability that an error event begins at a bit, the union bound. */
export function basebandEventRate(ebN0Db: number): number {
  const ebN0 = 10 ** (ebN0Db / 10)
  let rate = 0
  for (const { squaredDistance, share } of events)
    rate += share * gaussianTail(Math.sqrt(2 * squaredDistance * ebN0))
  return rate
}

/** By one wrong bit alone. */
export const basebandBitErrorRate = (ebN0Db: number): number =>
  gaussianTail(Math.sqrt(2 * 10 ** (ebN0Db / 10)))

/**
 * Channel bits that a frame of 72 octets with its FCS needs: its own with inserted zeros and both flags, 594.4 on average, and the
 * 17 before them that the descrambler holds.
 */
export const basebandChannelBits = 594.4 + 17

/** Eb/N0 in dB at which a share of the frames comes through, by halving. */
export function basebandBoundDb(share: number): number {
  let [low, high] = [0, 20]
  for (let step = 0; step < 60; step++) {
    const middle = (low + high) / 2
    if (frameSuccess(basebandEventRate(middle), basebandChannelBits) < share) low = middle
    else high = middle
  }
  return (low + high) / 2
}
