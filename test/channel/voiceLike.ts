// Sound that is like speech to a receiver: it fills the same band, rises and falls with syllables, has pauses, a pitch with
// harmonics and hissing consonants. Model: source and filter, G. Fant, Acoustic Theory of Speech Production, 1960; the
// formant ranges are the usual ones for vowels (from memory). Nobody would understand a word.
import { gaussian, type Random } from '../../dsp/channel/gaussian.js'

/** One second-order resonance whose middle frequency may be moved while it rings. */
interface Resonator {
  tune(hz: number): void
  run(input: number): number
}

/**
 * @param rms of the sound while it lasts, pauses left out
 * @returns a source of as many samples as asked for, going on where it stopped
 */
export function createVoiceLike(
  sampleRateHz: number,
  rms: number,
  random: Random,
): (sampleCount: number) => Float32Array {
  const noise = gaussian(random)
  const formants = formantRangesHz.map(({ widthHz }) => createResonator(sampleRateHz, widthHz))
  const between = (low: number, high: number): number => low + (high - low) * random()
  const syllable = { left: 0, length: 1, voiced: false, loud: 0, pitchHz: 120, glideHz: 0 }
  let pitchPhase = 0
  let average = 1e-6

  const nextSyllable = (): void => {
    const pause = random() < pauseShare
    syllable.length = Math.round(sampleRateHz * between(0.06, pause ? 0.6 : 0.28))
    syllable.left = syllable.length
    syllable.voiced = random() < voicedShare
    syllable.loud = pause ? 0 : between(0.3, 1)
    syllable.pitchHz = between(85, 260)
    syllable.glideHz = between(-40, 40)
    formantRangesHz.forEach(({ lowHz, highHz }, index) => {
      formants[index]!.tune(between(lowHz, highHz))
    })
  }

  const sourceSample = (done: number): number => {
    if (!syllable.voiced) return 0.3 * noise()
    pitchPhase += (syllable.pitchHz + syllable.glideHz * done) / sampleRateHz
    if (pitchPhase < 1) return 0.02 * noise()
    // One glottal pulse.
    pitchPhase -= 1
    return 6
  }

  return (sampleCount) => {
    const sound = new Float32Array(sampleCount)
    for (let index = 0; index < sampleCount; index++) {
      if (syllable.left === 0) nextSyllable()
      const done = 1 - syllable.left-- / syllable.length
      const source = sourceSample(done)
      let sum = 0
      for (let at = 0; at < formants.length; at++)
        sum += formantRangesHz[at]!.gain * formants[at]!.run(source)
      average += (sum * sum - average) * 1e-4
      const envelope = syllable.loud * Math.sin(Math.PI * done)
      sound[index] = ((rms * 1.4 * sum) / Math.sqrt(average)) * envelope
    }
    return sound
  }
}

/** First to fourth formant, and the band of hissing consonants. */
const formantRangesHz = [
  { lowHz: 280, highHz: 850, widthHz: 80, gain: 1 },
  { lowHz: 700, highHz: 2400, widthHz: 100, gain: 0.7 },
  { lowHz: 1800, highHz: 3000, widthHz: 150, gain: 0.4 },
  { lowHz: 3000, highHz: 3700, widthHz: 250, gain: 0.2 },
] as const
const voicedShare = 0.7
const pauseShare = 0.2

/** Two-pole resonator of unity gain at its middle (J. O. Smith, Introduction to Digital Filters; from memory). */
function createResonator(sampleRateHz: number, widthHz: number): Resonator {
  const radius = Math.exp((-Math.PI * widthHz) / sampleRateHz)
  let a1 = 0
  let before = 0
  let twoBefore = 0
  const gain = (1 - radius * radius) / 2
  return {
    tune(hz) {
      a1 = 2 * radius * Math.cos((2 * Math.PI * hz) / sampleRateHz)
    },
    run(input) {
      const output = gain * input + a1 * before - radius * radius * twoBefore
      twoBefore = before
      before = output
      return output
    },
  }
}
