// Recommendation ITU-R M.1677-1 and sums over its code table, computed outside the project.
import { describe, expect, it } from 'vitest'
import { charactersWithoutMorse, morseElements, morseUnits } from '../../../dsp/morse/morseCode.js'
import { morseDurationMs, morseTone } from '../../../dsp/morse/morseTone.js'
import { meanPower } from '../../../dsp/numbers/power.js'

describe.each([
  ['E', 1, 0.24, 0.0923, 0.06],
  ['T', 3, 0.72, 0.2769, 0.18],
  ['5', 9, 2.16, 0.8308, 0.54],
  ['0', 19, 4.56, 1.7538, 1.14],
  ['PARIS', 43, 10.32, 3.9692, 2.58],
  ['PARIS PARIS', 93, 22.32, 8.5846, 5.58],
  ['TE5ST', 33, 7.92, 3.0462, 1.98],
  ['DE TE5ST', 51, 12.24, 4.7077, 3.06],
  ['TE5ST/R', 59, 14.16, 5.4462, 3.54],
  ['ZZ9ZZZ', 87, 20.88, 8.0308, 5.22],
])('%s', (text, units, at5, at13, at20) => {
  it('has the published length', () => {
    expect(morseUnits(morseElements(text)!)).toBe(units)
    expect(morseDurationMs({ text: text, wordsPerMinute: 5 }) / 1000).toBeCloseTo(at5, 3)
    expect(morseDurationMs({ text: text, wordsPerMinute: 13 }) / 1000).toBeCloseTo(at13, 3)
    expect(morseDurationMs({ text: text.toLowerCase(), wordsPerMinute: 20 }) / 1000).toBeCloseTo(
      at20,
      3,
    )
  })
})

it('elements of a word: R is dot, dash, dot', () => {
  expect(morseElements(' R ')).toEqual([
    { on: true, units: 1 },
    { on: false, units: 1 },
    { on: true, units: 3 },
    { on: false, units: 1 },
    { on: true, units: 1 },
  ])
})

it('names what has no code', () => {
  expect(morseElements('TE5ST_1')).toBeUndefined()
  expect(charactersWithoutMorse('a_ü b_')).toEqual(['_', 'Ü'])
  expect(() => morseDurationMs({ text: '§', wordsPerMinute: 20 })).toThrow('no code for §')
})

describe('tone', () => {
  const options = {
    text: 'DE TE5ST',
    wordsPerMinute: 20,
    toneHz: 700,
    sampleRateHz: 12000,
    level: 0.5,
  }

  it('lasts exactly as long as its dots', () => {
    for (const sampleRateHz of [8000, 11025, 44100, 48000])
      expect(morseTone({ ...options, sampleRateHz }).length).toBe(Math.round(3.06 * sampleRateHz))
  })

  it('is on in the dashes and off in the gaps', () => {
    const samples = morseTone(options)
    const unit = 720
    let at = 0
    for (const { on, units } of morseElements(options.text)!) {
      const part = samples.subarray(at * unit, (at + units) * unit)
      const middle = part.subarray(90, part.length - 90)
      if (on) expect(meanPower(middle)).toBeCloseTo(0.125, 2)
      else expect(meanPower(middle)).toBe(0)
      at += units
    }
  })

  it('rises and falls without a step, and stays below its level', () => {
    const samples = morseTone({ ...options, toneHz: 100, sampleRateHz: 48000 })
    const slope = samples.reduce(
      (most, sample, n) => Math.max(most, Math.abs(sample - (samples[n - 1] ?? 0))),
      0,
    )
    // The tone itself changes by 0.5 * 2 pi 100 / 48000 a sample, the edge by at most half as much again.
    expect(slope).toBeLessThan(0.5 * ((2 * Math.PI * 100) / 48000) * 1.6)
    expect(samples.every((sample) => Math.abs(sample) <= 0.5)).toBe(true)
  })

  it('refuses a speed or a tone out of range', () => {
    for (const wrong of [{ wordsPerMinute: 0 }, { wordsPerMinute: 61 }, { toneHz: 6000 }])
      expect(() => morseTone({ ...options, ...wrong })).toThrow(RangeError)
  })
})
