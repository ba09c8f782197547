import { describe, expect, it } from 'vitest'
import { noiseRmsForEbN0, whiteNoise } from '../../../dsp/channel/noise.js'
import { modulateTransmission } from '../../../dsp/modem/modulateTransmission.js'
import { createReceiver } from '../../../dsp/modem/receiver.js'
import { meanPower } from '../../../dsp/numbers/power.js'
import { seededRandom } from '../../../src/runtime/random.js'
import { addNoise } from '../../channel/addNoise.js'
import { testFrame } from './receiving.js'

const sampleRateHz = 48_000
const msSamples = sampleRateHz / 1000

/** Milliseconds from the start of a signal to busy, and from its end to free for good. */
function delays(ebN0Db: number, toneBalanceDb: number, seed: number) {
  const random = seededRandom(seed)
  const signal = modulateTransmission({
    frames: [testFrame(50, random)],
    preambleMs: 150,
    tailMs: 10,
    sampleRateHz,
    peakLevel: 0.3,
    toneBalanceDb,
  })
  const lead = 400 * msSamples + seed * 7
  const audio = new Float32Array(lead + signal.length + 100 * msSamples)
  audio.set(signal, lead)
  const noisy = addNoise(audio, noiseRmsForEbN0(meanPower(signal), ebN0Db, sampleRateHz), random)
  const receiver = createReceiver({ sampleRateHz, repair: 'none' })
  let busyAt = Number.POSITIVE_INFINITY
  let freeAt = 0
  for (let at = 0; at + msSamples <= noisy.length; at += msSamples) {
    receiver.push(noisy.subarray(at, at + msSamples))
    const now = at + msSamples
    if (receiver.channelBusy && now > lead) {
      busyAt = Math.min(busyAt, now)
      freeAt = now
    }
  }
  return {
    toBusyMs: (busyAt - lead) / msSamples,
    toFreeMs: Math.max(0, freeAt - lead - signal.length) / msSamples,
  }
}

describe('carrier detect', () => {
  it.each([0, 8])('busy and free within 20 ms at 10 dB Eb/N0, space %i dB stronger', (balance) => {
    const trials = Array.from({ length: 12 }, (_, seed) => delays(10, balance, seed + 1))
    const worstBusy = Math.max(...trials.map(({ toBusyMs }) => toBusyMs))
    const sorted = trials.map(({ toFreeMs }) => toFreeMs).sort((a, b) => a - b)
    expect(worstBusy).toBeLessThan(20)
    // Noise right after the end may look like a signal for a moment: one trial of twelve may.
    expect(sorted[10]).toBeLessThan(20)
  })

  it('noise is busy for less than 1 % of the time', () => {
    const noise = whiteNoise(60 * sampleRateHz, 0.2, seededRandom(41))
    const receiver = createReceiver({ sampleRateHz, repair: 'none' })
    let busy = 0
    let looks = 0
    for (let at = 0; at < noise.length; at += 480) {
      receiver.push(noise.subarray(at, at + 480))
      looks++
      if (receiver.channelBusy) busy++
    }
    expect(busy / looks).toBeLessThan(0.01)
  })
})
