import { describe, expect, it } from 'vitest'
import { createSpectrumRows, rowBins, rowSpanHz } from '../../../dsp/measure/spectrumRows.js'

const sine = (toneHz: number, amplitude: number, sampleRateHz: number, count: number) =>
  Float32Array.from(
    { length: count },
    (_, n) => amplitude * Math.sin((2 * Math.PI * toneHz * n) / sampleRateHz),
  )
const levelOf = (octet: number): number => octet / 2 - 127.5

describe('rows of a running spectrum', () => {
  it('a tone stands in its column at its level, at every rate', () => {
    for (const sampleRateHz of [8000, 12_000, 44_100, 48_000])
      for (const toneHz of [310, 1200, 1700, 2200, 3900]) {
        const rows = createSpectrumRows(sampleRateHz).push(
          sine(toneHz, 0.5, sampleRateHz, sampleRateHz),
        )
        expect(rows.length).toBeGreaterThanOrEqual(6)
        const levels = [...rows[2]!.levels]
        const strongest = levels.indexOf(Math.max(...levels))
        const wanted = Math.floor((toneHz * rowBins) / rowSpanHz)
        expect(Math.abs(strongest - wanted), `${toneHz} Hz at ${sampleRateHz}`).toBeLessThanOrEqual(
          1,
        )
        // An RMS level of -9.03 dBFS; a Hann window shows a tone between two lines up to 1.42 dB lower (Harris, 1978).
        expect(levelOf(levels[strongest]!)).toBeGreaterThan(-9.03 - 1.42 - 0.5)
        expect(levelOf(levels[strongest]!)).toBeLessThan(-9.03 + 0.3)
      }
  })

  it('eight a second, however the stream is cut', () => {
    const whole = sine(1200, 0.3, 12_000, 24_000)
    const atOnce = createSpectrumRows(12_000).push(whole)
    const cut = createSpectrumRows(12_000)
    const pieces: ReturnType<typeof cut.push> = []
    for (let at = 0; at < whole.length; at += 777)
      pieces.push(...cut.push(whole.subarray(at, at + 777)))
    expect(atOnce).toHaveLength(16)
    expect(pieces).toEqual(atOnce)
    expect(atOnce.map((row) => row.endSample)).toEqual(atOnce.map((_, n) => 1500 * (n + 1)))
  })

  it('silence is the lowest octet', () => {
    const [row] = createSpectrumRows(12_000).push(new Float32Array(1500))
    expect([...row!.levels]).toEqual(Array(rowBins).fill(0))
  })
})
