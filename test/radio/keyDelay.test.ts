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
})
