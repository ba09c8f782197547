import { describe, expect, it } from 'vitest'
import { createReceiver } from '../../dsp/modem/receiver.js'
import { decodeFrame } from '../../src/ax25/frame.js'
import { keyDelayAdvice } from '../../src/radio/keyDelay.js'
import { transmissionAudio } from '../../src/radio/transmissionAudio.js'
import { controllerBench } from './controllerBench.js'

/** What another station hears when a transmitter loses the beginning of its audio. */
function heardAfterLoss(lostMs: number, flagsMs: number): string | undefined {
  const bench = controllerBench()
  bench.feed({
    kind: 'tone',
    request: { id: 't', tone: 'flags', durationMs: flagsMs, notAfterMs: Infinity },
  })
  bench.advanceTo(10_000)
  expect(bench.outcomes.map(({ kind }) => kind)).toEqual(['sent'])
  const shape = { sampleRateHz: 48_000, peakLevel: 0.5, toneBalanceDb: 0 }
  const audio = transmissionAudio(bench.sent[0]!.content, shape).subarray(48 * lostMs)
  const receiver = createReceiver({ sampleRateHz: 48_000, repair: 'none' })
  // Noise, as a receiver gives before the carrier comes up.
  const before = Float32Array.from({ length: 4800 }, (_, index) => 0.2 * Math.sin(index * index))
  const frames = [...receiver.push(before), ...receiver.push(audio), ...receiver.finish()]
  const decoded = decodeFrame(frames[0]!.octets)
  return decoded.ok ? keyDelayAdvice(decoded.frame.payload, frames[0]!.quality) : undefined
}

describe('finding the key delay', () => {
  it.each([
    { lostMs: 0, flagsMs: 1000 },
    { lostMs: 150, flagsMs: 1000 },
    { lostMs: 420, flagsMs: 1000 },
    { lostMs: 900, flagsMs: 1500 },
  ])('$lostMs ms lost of $flagsMs', ({ lostMs, flagsMs }) => {
    const advice = heardAfterLoss(lostMs, flagsMs)
    const neededMs = Number(/keyDelayMs = (\d+)/.exec(advice ?? '')![1])
    // the loss and the margin, rounded up; a few flags pass before a receiver is in step
    expect(neededMs).toBeGreaterThanOrEqual(lostMs + 60)
    expect(neededMs).toBeLessThanOrEqual(lostMs + 60 + 40)
  })

  it('says nothing about other frames', () => {
    expect(
      keyDelayAdvice(new TextEncoder().encode('>after all'), { preambleFlags: 45 }),
    ).toBeUndefined()
    expect(keyDelayAdvice(Uint8Array.of(0xff), { preambleFlags: 45 })).toBeUndefined()
  })

  const advise = (text: string, preambleFlags: number, bitRate?: 1200 | 9600) =>
    keyDelayAdvice(new TextEncoder().encode(text), { preambleFlags, bitRate })

  it('what was heard is counted in flags, and what is missing is needed, with 60 ms to spare', () => {
    const words = (heardMs: number, neededMs: number): string =>
      `${heardMs} ms of them were heard: keyDelayMs = ${neededMs} is enough, with 60 ms to spare`
    // a flag lasts 6.67 ms at 1200 bit/s, and 0.83 ms at 9600
    expect(advise('>after 1000 ms of flags', 135)).toBe(words(900, 160))
    expect(advise('>after 1000 ms of flags', 1080, 9600)).toBe(words(900, 160))
    expect(advise('>after 1000 ms of flags', 134)).toBe(words(893, 170))
    expect(advise('>after 1000 ms of flags', 200)).toBe(words(1000, 60))
    expect(advise('>after 99999 ms of flags', 0)).toBe(words(0, 100_060))
  })

  it.each([
    ...['>after 100000 ms of flags', '>after  ms of flags', 'x>after 1000 ms of flags'],
    ...['>after 1000 ms of flags!', '>after 10x ms of flags'],
  ])('nothing about "%s"', (text) => {
    expect(advise(text, 135)).toBeUndefined()
  })
})
