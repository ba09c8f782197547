// Symbol timing of audio that comes hop by hop.
import {
  createSequenceTiming,
  hopCells,
  type TimingEstimate,
  windowHops,
} from '../../../../dsp/modem/sequence/timing.js'
import {
  createToneCorrelations,
  symbolSamples,
} from '../../../../dsp/modem/sequence/toneCorrelations.js'

export const hopSamples = hopCells * symbolSamples

export function timed(audio: Float32Array): {
  estimates: TimingEstimate[]
  hops: number
  symbols: number
} {
  let symbols = 0
  const correlations = createToneCorrelations()
  const timing = createSequenceTiming(correlations, () => symbols++)
  const estimates: TimingEstimate[] = []
  for (let at = 0; at < audio.length; at += hopSamples) {
    correlations.append(audio.subarray(at, at + hopSamples))
    timing.advance()
    while (timing.hops >= estimates.length + windowHops) {
      const estimate = { startSample: 0, rateError: 0, quality: 0 }
      timing.estimate(estimates.length, estimate)
      estimates.push(estimate)
    }
  }
  // Those who look at each would look at none.
  if (estimates.length < windowHops) throw new Error(`${audio.length} samples gave no hops`)
  return { estimates, hops: timing.hops, symbols }
}
