import { describe, expect, it } from 'vitest'
import { contentDurationMs, transmissionAudio } from '../../src/radio/transmissionAudio.js'
import type { SteadyTone, TransmissionContent } from '../../src/radio/transmissionContent.js'
import { frame, loudSpans, ownCall } from './fixtures.js'

const rateHz = 48_000
const shape = { sampleRateHz: rateHz, peakLevel: 0.5, toneBalanceDb: 0 }
const audioOf = (content: TransmissionContent) => transmissionAudio(content, shape)
const tone = (of: SteadyTone, durationMs = 1000, gapMs?: number): TransmissionContent => ({
  ...{ kind: 'tone', tone: of, durationMs, gapMs },
})

/** Of a stretch of audio, by counting how often it passes zero upwards. */
function frequencyHz(samples: Float32Array): number {
  let count = 0
  for (let at = 1; at < samples.length; at++) if (samples[at - 1]! < 0 && samples[at]! >= 0) count++
  return (count * rateHz) / samples.length
}
const peak = (samples: Float32Array): number =>
  samples.reduce((a, b) => Math.max(a, Math.abs(b)), 0)

describe('a test tone', () => {
  it.each([
    ['mark', 1200],
    ['space', 2200],
  ] as const)('%s has %i Hz at the level that is set', (of, hz) => {
    const samples = audioOf(tone(of))
    expect(samples).toHaveLength(rateHz)
    expect(Math.abs(frequencyHz(samples) - hz)).toBeLessThan(2)
    expect(peak(samples)).toBeCloseTo(0.5, 2)
  })

  it('two-tone is no louder than one: half of it each, and their beat between', () => {
    const samples = audioOf(tone('two-tone'))
    expect(peak(samples)).toBeCloseTo(0.5, 2)
    // 1200 and 2200 Hz alike beat at 1700 Hz on average
    const amplitude = (hz: number): number => {
      let [re, im] = [0, 0]
      for (const [at, sample] of samples.entries()) {
        re += sample * Math.cos((2 * Math.PI * hz * at) / rateHz)
        im += sample * Math.sin((2 * Math.PI * hz * at) / rateHz)
      }
      return (2 * Math.hypot(re, im)) / samples.length
    }
    expect(amplitude(1200)).toBeCloseTo(0.25, 2)
    expect(amplitude(2200)).toBeCloseTo(0.25, 2)
    expect(amplitude(1700)).toBeCloseTo(0, 2)
  })

  it('alternating lasts as many symbols as begin in its time, and changes tone with each', () => {
    const samples = audioOf(tone('alternating', 1000.5))
    expect(samples).toHaveLength(1201 * 40)
    const halfHz = [0, 1].map((symbol) => {
      const parts = Array.from({ length: 300 }, (_, at) => (2 * at + symbol) * 40)
      return parts.reduce((sum, at) => sum + frequencyHz(samples.subarray(at, at + 40)), 0) / 300
    })
    expect(Math.abs(halfHz[0]! - halfHz[1]!)).toBeGreaterThan(700)
  })

  it('has its gap in the middle, and lasts as long with it', () => {
    const samples = audioOf(tone('mark', 1000, 300))
    expect(samples).toHaveLength(rateHz)
    const spans = loudSpans(samples, rateHz).map((span) => [
      ...[Math.round(span.fromMs / 5) * 5, Math.round(span.toMs / 5) * 5],
    ])
    expect(spans).toEqual([
      [0, 350],
      [650, 1000],
    ])
    expect(contentDurationMs(tone('mark', 1000, 300))).toBe(1000)
  })

  it('without a gap is one', () => {
    const [span, ...more] = loudSpans(audioOf(tone('mark', 1000, 0)), rateHz)
    expect([Math.round(span!.fromMs), Math.round(span!.toMs), more]).toEqual([0, 1000, []])
  })
})

describe('frames with the call in Morse', () => {
  const frames = [frame(ownCall, 'x')]
  const packet: TransmissionContent = { kind: 'frames', frames, preambleMs: 100, tailMs: 50 }
  // E is one dot: 60 ms at 20 words a minute
  const morse = { text: 'E', wordsPerMinute: 20, toneHz: 800 }

  it('have it a fifth of a second after the tail, at the same level', () => {
    const packetMs = contentDurationMs(packet)
    expect(contentDurationMs({ ...packet, morse })).toBeCloseTo(packetMs + 200 + 60, 6)
    const samples = audioOf({ ...packet, morse })
    expect((samples.length * 1000) / rateHz).toBeCloseTo(packetMs + 260, 1)
    const [first, second] = loudSpans(samples, rateHz)
    expect(first!.toMs).toBeLessThanOrEqual(packetMs)
    expect(Math.abs(second!.fromMs - packetMs - 200)).toBeLessThan(1)
    expect(Math.abs(second!.toMs - packetMs - 260)).toBeLessThan(1)
    const dot = samples.subarray(-Math.round(0.05 * rateHz), -Math.round(0.01 * rateHz))
    expect(frequencyHz(dot)).toBeCloseTo(800, -2)
    expect(peak(dot)).toBeCloseTo(0.5, 2)
  })

  it('begin as they would without it', () => {
    const plain = audioOf(packet)
    expect(audioOf({ ...packet, morse }).subarray(0, plain.length)).toEqual(plain)
  })
})
