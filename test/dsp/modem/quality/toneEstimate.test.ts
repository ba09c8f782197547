import { describe, expect, it } from 'vitest'
import { correlateSymbols, toneSums } from '../../../../dsp/modem/quality/symbolCorrelation.js'
import { estimateTones } from '../../../../dsp/modem/quality/toneEstimate.js'
import { audioOf, pair, randomLevels, start } from './knownSymbols.js'

const timing = { startSample: start, samplesPerSymbol: 10 }

/** Tones of these offsets, a phase that runs on. */
function audioWith(levels: Uint8Array, markOffsetHz: number, spaceOffsetHz: number): Float32Array {
  const audio = new Float32Array(start + 10 * levels.length + 60)
  let turns = 0.3
  for (const [symbol, level] of levels.entries())
    for (let n = 0; n < 10; n++) {
      audio[start + 10 * symbol + n] = 0.5 * Math.sin(2 * Math.PI * turns)
      turns += (level === 1 ? 1200 + markOffsetHz : 2200 + spaceOffsetHz) / 12_000
    }
  return audio
}

describe('tone frequencies of known symbols', () => {
  it.each([
    [0, 0],
    [40, 40],
    [-70, -70],
    [60, -60],
    [-25, 0],
    [0, 90],
  ])('%i and %i Hz off are found to a hertz', (markOffsetHz, spaceOffsetHz) => {
    const levels = randomLevels(300)
    const { mark, space } = pair(audioWith(levels, markOffsetHz, spaceOffsetHz))
    const correlations = correlateSymbols(mark, space, levels, timing)
    const { markHz, spaceHz } = estimateTones(correlations, levels, timing)
    expect(Math.abs(markHz - 1200 - markOffsetHz)).toBeLessThan(1.5)
    expect(Math.abs(spaceHz - 2200 - spaceOffsetHz)).toBeLessThan(1.5)
  })

  it('turns the correlations to what those tones would have given', () => {
    const levels = randomLevels(300)
    const { mark, space } = pair(audioWith(levels, 30, 30))
    const given = correlateSymbols(mark, space, levels, timing)
    estimateTones(given, levels, timing)
    for (const tone of [0, 1]) {
      const phases = [...levels].flatMap((level, k) =>
        level === tone ? [Math.atan2(given.im[k]!, given.re[k]!)] : [],
      )
      const [re, im] = [Math.cos, Math.sin].map((of) =>
        phases.reduce((sum, phase) => sum + of(phase), 0),
      )
      expect(Math.hypot(re!, im!) / phases.length).toBeGreaterThan(0.98)
    }
  })

  it('symbols of another length count as long as they are', () => {
    const levels = randomLevels(300)
    const other = { startSample: start, samplesPerSymbol: 10.1 }
    const { mark, space } = pair(audioOf(levels, { samplesPerSymbol: 10.1, offsetHz: 50 }))
    const correlations = correlateSymbols(mark, space, levels, other)
    const { markHz, spaceHz } = estimateTones(correlations, levels, other)
    expect(Math.abs(markHz - 1250)).toBeLessThan(1.5)
    expect(Math.abs(spaceHz - 2250)).toBeLessThan(1.5)
  })

  it.each([
    ['silence', new Float32Array(700), randomLevels(60)],
    ['a single symbol', new Float32Array(200), Uint8Array.of(1)],
    ['no symbols', new Float32Array(200), new Uint8Array(0)],
  ])('of %s they are the nominal ones', (_, audio, levels) => {
    const { mark, space } = pair(audio)
    const correlations = correlateSymbols(mark, space, levels, timing)
    expect(estimateTones(correlations, levels, timing)).toEqual({ markHz: 1200, spaceHz: 2200 })
  })

  it('of one tone alone the other stays where it should be', () => {
    const levels = new Uint8Array(200).fill(1)
    const { mark, space } = pair(audioWith(levels, 35, 0))
    const { markHz, spaceHz } = estimateTones(
      correlateSymbols(mark, space, levels, timing),
      levels,
      timing,
    )
    expect(Math.abs(markHz - 1235)).toBeLessThan(1.5)
    expect(spaceHz).toBeCloseTo(2200, 6)
  })
})

describe('running sums of a tone', () => {
  it('use the arrays of earlier ones where those are long enough, and only then', () => {
    const audio = audioOf(randomLevels(20))
    const fresh = toneSums(audio, 1200)
    const longer = toneSums(new Float32Array(audio.length + 1), 2200)
    const again = toneSums(audio, 1200, longer)
    expect(again.re).toBe(longer.re)
    expect(again.im).toBe(longer.im)
    expect(again.count).toBe(audio.length)
    expect(again.re.subarray(0, audio.length + 1)).toEqual(fresh.re)
    const equal = toneSums(audio, 2200, fresh)
    expect(equal.re).toBe(fresh.re)
    const shorter = toneSums(audio.subarray(1), 1200)
    const made = toneSums(audio, 1200, shorter)
    expect(made.re).not.toBe(shorter.re)
    expect(made.re).toHaveLength(audio.length + 1)
  })
})
