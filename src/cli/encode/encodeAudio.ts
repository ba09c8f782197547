import { noiseRmsForEbN0, whiteNoise } from '../../../dsp/channel/noise.js'
import type { Modem } from '../../../dsp/modem/modems.js'
import type { TransmissionOptions } from '../../../dsp/modem/modulateTransmission.js'
import { meanPower } from '../../../dsp/numbers/power.js'
import { seededRandom } from '../../runtime/random.js'

export interface AudioPlan extends Omit<TransmissionOptions, 'frames'>, Pick<Modem, 'modulate'> {
  /** transmissions, each of one or more frames without FCS */
  readonly frames: readonly (readonly Uint8Array[])[]
  /** silence before, between and after them */
  readonly gapMs: number
  readonly noise: { readonly ebN0Db: number; readonly seed: number } | undefined
}

/** The audio, a transmission or a gap at a time, so that memory does not grow with the number of frames. */
export function* renderAudio(plan: AudioPlan): Generator<Float32Array> {
  const { frames, gapMs, noise, modulate, ...modulation } = plan
  const { sampleRateHz, bitRate } = modulation
  const random = seededRandom(noise?.seed ?? 0)
  const gapSamples = Math.round((gapMs * sampleRateHz) / 1000)
  let noiseRms: number | undefined

  const withNoise = (samples: Float32Array): Float32Array => {
    if (noiseRms === undefined) return samples
    const hiss = whiteNoise(samples.length, noiseRms, random)
    for (let at = 0; at < samples.length; at++) samples[at]! += hiss[at]!
    return samples
  }

  for (const [index, transmission] of frames.entries()) {
    const signal = modulate({ ...modulation, frames: transmission })
    // One receiver hears all of it: the first transmission sets the noise for the whole file.
    if (noise !== undefined)
      noiseRms ??= noiseRmsForEbN0(meanPower(signal), noise.ebN0Db, sampleRateHz, bitRate)
    if (index === 0) yield withNoise(new Float32Array(gapSamples))
    yield withNoise(signal)
    yield withNoise(new Float32Array(gapSamples))
  }
}
