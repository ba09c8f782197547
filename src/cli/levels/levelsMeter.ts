import { createLevelMeter, type LevelReading } from '../../../dsp/measure/levelMeter.js'
import { measureSpectrum, type Spectrum } from '../../../dsp/measure/spectrum.js'

/** Levels of an input over several stretches of time. Memory does not grow. */
export interface LevelsMeter {
  /**
   * @param block mono, full scale ±1
   * @param carrier a signal is on the channel: nothing of it counts as noise
   */
  push(block: Float32Array, carrier: boolean): void
  /** What came since the last call. */
  takeLatest(): LevelReading
  /** The last five to ten seconds. */
  recent(): LevelReading
  /** Everything. */
  total(): LevelReading
  /**
   * Of the last half second; undefined before it has come.
   * @param binHz about how far the values lie apart; 3 or more
   */
  spectrum(binHz: number): Spectrum | undefined
}

const recentS = 10

export function createLevelsMeter(sampleRateHz: number): LevelsMeter {
  const newMeter = () => createLevelMeter(sampleRateHz)
  const latest = newMeter()
  const all = newMeter()
  // Two meters that begin anew by turns: the elder always knows 5 to 10 s.
  let [elder, younger] = [newMeter(), newMeter()]
  const tail = new Float32Array(Math.round(sampleRateHz / 2))
  let received = 0
  let elderSamples = 0

  return {
    push(block, carrier) {
      for (const meter of [latest, all, elder]) meter.push(block, carrier)
      received += block.length
      elderSamples += block.length
      if (elderSamples > (recentS / 2) * sampleRateHz) younger.push(block, carrier)
      if (elderSamples > recentS * sampleRateHz) {
        elder.reset()
        ;[elder, younger] = [younger, elder]
        elderSamples = (recentS / 2) * sampleRateHz
      }
      const end = block.subarray(Math.max(0, block.length - tail.length))
      tail.copyWithin(0, end.length)
      tail.set(end, tail.length - end.length)
    },
    takeLatest() {
      const reading = latest.read()
      latest.reset()
      return reading
    },
    recent: () => elder.read(),
    total: () => all.read(),
    spectrum(binHz) {
      if (received < tail.length) return undefined
      const size = 2 ** Math.round(Math.log2(sampleRateHz / binHz))
      return measureSpectrum(tail, { sampleRateHz, size })
    },
  }
}
