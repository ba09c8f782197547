import { meanPower, powerDb } from '../numbers/power.js'
import { measureSpectrum } from './spectrum.js'

/** For how long a stream was silent, hissed, or held something else. */
export interface SoundTally {
  /** @param block mono, full scale ±1 */
  push(block: Float32Array): void
  readonly sums: SoundSums
}

export interface SoundSums {
  readonly silenceS: number
  readonly hissS: number
  /** mean level of the hiss; undefined without any */
  readonly hissDbfs: number | undefined
  readonly otherS: number
}

const windowS = 0.5
/** Below it there is nothing but the last bit or two of a converter. */
const silentDbfs = -80
const fromHz = 500
const toHz = 2900
/**
 * Geometric mean of the spectrum over its arithmetic mean: white noise has 0 dB, noise that a speaker output rolls off -1 dB,
 * two tones below -5 dB (trials).
 * @see spectral flatness: N. S. Jayant, P. Noll, Digital Coding of Waveforms, 1984 (from memory)
 */
const flatnessMinDb = -2.5

export function createSoundTally(sampleRateHz: number): SoundTally {
  const window = new Float32Array(Math.round(windowS * sampleRateHz))
  let filled = 0
  let [silenceS, hissS, otherS, hissPower] = [0, 0, 0, 0]

  const look = (): void => {
    const power = meanPower(window)
    if (!(powerDb(power) > silentDbfs)) silenceS += windowS
    else if (flatnessDb(window, sampleRateHz) > flatnessMinDb) {
      hissS += windowS
      hissPower += windowS * power
    } else otherS += windowS
  }
  return {
    push(block) {
      for (let at = 0; at < block.length; ) {
        const count = Math.min(block.length - at, window.length - filled)
        window.set(block.subarray(at, at + count), filled)
        at += count
        filled += count
        if (filled < window.length) continue
        look()
        filled = 0
      }
    },
    get sums() {
      const hissDbfs = hissS > 0 ? powerDb(hissPower / hissS) : undefined
      return { silenceS, hissS, hissDbfs, otherS }
    },
  }
}

function flatnessDb(samples: Float32Array, sampleRateHz: number): number {
  const { binHz, densityDbfsPerHz } = measureSpectrum(samples, { sampleRateHz, size: 1024 })
  const band = densityDbfsPerHz.subarray(Math.ceil(fromHz / binHz), Math.floor(toHz / binHz))
  let [sumDb, sum] = [0, 0]
  for (const db of band) {
    sumDb += db
    sum += 10 ** (db / 10)
  }
  return sumDb / band.length - powerDb(sum / band.length)
}
