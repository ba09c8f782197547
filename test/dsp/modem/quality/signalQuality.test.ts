// Each figure against what the simulated path was told.
import { describe, expect, it } from 'vitest'
import { encodeHdlc } from '../../../../dsp/framing/hdlcEncoder.js'
import { encodeNrzi } from '../../../../dsp/framing/nrzi.js'
import { modulateTransmission } from '../../../../dsp/modem/modulateTransmission.js'
import type { SignalQuality } from '../../../../dsp/modem/receivedFrame.js'
import { seededRandom } from '../../../../src/runtime/random.js'
import { simulateRadioPath } from '../../../channel/radioPath.js'
import { receiveAll, testFrame } from '../receiving.js'

interface Truth {
  toneBalanceDb?: number
  toneOffsetHz?: number
  symbolRateErrorPpm?: number
  ebN0Db?: number
  peakLevel?: number
  gainDb?: number
  sampleRateHz?: number
  octets?: number
  preambleMs?: number
}

function measure(truth: Truth): SignalQuality {
  const { sampleRateHz = 48000, ebN0Db = 30, peakLevel = 0.3, gainDb = 0 } = truth
  const random = seededRandom(21)
  const audio = simulateRadioPath(
    modulateTransmission({
      ...truth,
      frames: [testFrame(truth.octets ?? 70, random)],
      preambleMs: truth.preambleMs ?? 100,
      tailMs: 20,
      sampleRateHz,
      peakLevel,
    }),
    { sampleRateHz, random, audioNoise: { ebN0Db }, gainDb },
  )
  const { frames } = receiveAll(audio, { sampleRateHz, repair: 'careful' })
  expect(frames).toHaveLength(1)
  return frames[0]!.quality
}

describe.each([-8, -5, 0, 5, 8])('tone balance of %i dB', (toneBalanceDb) => {
  it.each([15, 30])('at %i dB Eb/N0', (ebN0Db) => {
    expect(Math.abs(measure({ toneBalanceDb, ebN0Db }).toneBalanceDb - toneBalanceDb)).toBeLessThan(
      0.4,
    )
  })
})

it.each([-60, -20, 0, 35, 60])('tone offset of %i Hz', (toneOffsetHz) => {
  for (const ebN0Db of [12, 30])
    expect(Math.abs(measure({ toneOffsetHz, ebN0Db }).toneOffsetHz - toneOffsetHz)).toBeLessThan(
      0.5,
    )
})

it('tones that are off by different amounts: the mean of the two', () => {
  const octets = testFrame(60, seededRandom(22))
  const levels = encodeNrzi(encodeHdlc({ frames: [octets], leadingFlags: 12, trailingFlags: 2 }))
  let turns = 0
  const audio = Float32Array.from({ length: levels.length * 20 }, (_, index) => {
    turns += (levels[Math.floor(index / 20)] === 1 ? 1210 : 2104) / 24000
    return 0.4 * Math.sin(2 * Math.PI * turns)
  })
  const { frames } = receiveAll(audio, { sampleRateHz: 24000, repair: 'none' })
  expect(frames).toHaveLength(1)
  expect(Math.abs(frames[0]!.quality.toneOffsetHz - (10 - 96) / 2)).toBeLessThan(0.5)
  expect(Math.abs(frames[0]!.quality.symbolRateErrorPpm)).toBeLessThan(20)
})

it.each([-300, -50, 0, 100, 300])('symbol-rate error of %i ppm', (symbolRateErrorPpm) => {
  const measured = measure({ symbolRateErrorPpm, octets: 200 }).symbolRateErrorPpm
  expect(Math.abs(measured - symbolRateErrorPpm)).toBeLessThan(20)
})

describe.each([8000, 11025, 44100, 48000])('Eb/N0 at %i Hz', (sampleRateHz) => {
  it.each([7, 10, 15, 20])('of %i dB is measured within 0.8 dB', (ebN0Db) => {
    const measured = measure({ sampleRateHz, ebN0Db, octets: 60 }).ebN0Db
    expect(Math.abs(measured - ebN0Db)).toBeLessThan(0.8)
  })
})

it('level: a sine of amplitude 0.3 has an RMS level of -13.5 dBFS', () => {
  const levelDbfs = 20 * Math.log10(0.3 / Math.SQRT2)
  // The high-pass in front takes 0.2 dB of the mark tone.
  expect(Math.abs(measure({ peakLevel: 0.3 }).levelDbfs - levelDbfs)).toBeLessThan(0.2)
})

it('clipping: the share of a sine beyond the limit', () => {
  // A sine driven 6 dB beyond full scale is cut off for 1 - 2/pi * asin(10^(-6/20)) of the time.
  const share = 1 - (2 / Math.PI) * Math.asin(10 ** (-6 / 20))
  expect(measure({ peakLevel: 1, gainDb: 6 }).clippedShare).toBeCloseTo(share, 1)
  expect(measure({ peakLevel: 0.7 }).clippedShare).toBe(0)
})

it.each([8, 30, 75])('a preamble of %i flags', (flags) => {
  const { preambleFlags } = measure({ preambleMs: (flags * 8000) / 1200 })
  // The opening flag counts; the first flag of all may be lost.
  expect(Math.abs(preambleFlags - (flags + 1))).toBeLessThanOrEqual(1)
})

it('the eye closes with noise', () => {
  const openings = [30, 16, 11].map((ebN0Db) => measure({ ebN0Db }).eyeOpening)
  expect(openings[0]).toBeGreaterThan(0.75)
  expect(openings[1]).toBeLessThan(openings[0]!)
  expect(openings[2]).toBeLessThan(openings[1]!)
  expect(openings[2]).toBeGreaterThan(0.2)
})
