import { describe, expect, it } from 'vitest'
import { whiteNoise } from '../../../../dsp/channel/noise.js'
import { encodeHdlc } from '../../../../dsp/framing/hdlcEncoder.js'
import { createCorrelatorBankDetector } from '../../../../dsp/modem/correlators/correlatorDetector.js'
import type { CandidateFrame, DamagedSegment } from '../../../../dsp/modem/detector.js'
import { modulateTransmission } from '../../../../dsp/modem/modulateTransmission.js'
import { seededRandom } from '../../../../src/runtime/random.js'
import { hex, testFrame } from '../receiving.js'

const sampleRateHz = 12_000
const octets = testFrame(6, seededRandom(53))
const frameSamples = 10 * encodeHdlc({ frames: [octets], leadingFlags: 1, trailingFlags: 1 }).length
const silence = 600

interface Sender {
  readonly flags?: number
  readonly toneBalanceDb?: number
}

function burst({ flags = 8, toneBalanceDb = 0 }: Sender = {}): Float32Array {
  const signal = modulateTransmission({
    frames: [octets],
    // The last of these is the frame's opening flag.
    ...{ preambleMs: (flags - 1) * (8000 / 1200), tailMs: 8000 / 1200 },
    ...{ sampleRateHz, peakLevel: 0.3, toneBalanceDb },
  })
  const audio = new Float32Array(silence + signal.length + silence)
  audio.set(signal, silence)
  return audio
}

function listen(audio: Float32Array, blockSamples = 240) {
  const frames: CandidateFrame[] = []
  const damaged: DamagedSegment[] = []
  const detector = createCorrelatorBankDetector({
    frame: (frame) => frames.push(frame),
    damaged: (segment) => damaged.push(segment),
  })
  for (let at = 0; at < audio.length; at += blockSamples)
    detector.process(audio.subarray(at, at + blockSamples))
  return { detector, frames, damaged }
}

describe('the robust detector', () => {
  it('several timings read a frame, each where it stands', () => {
    const { frames, damaged } = listen(burst())
    expect(frames.length).toBeGreaterThan(5)
    for (const frame of frames) {
      expect(hex(frame.octets)).toBe(hex(octets))
      expect(frame.detector).toBe('correlators')
      expect(frame.repairedBits).toBe(0)
      expect(frame.precedingFlags).toBeGreaterThanOrEqual(7)
      expect(Math.abs(frame.startSample - silence - 7 * 80)).toBeLessThan(10)
      expect(Math.abs(frame.endSample - frame.startSample - frameSamples)).toBeLessThanOrEqual(10)
    }
    expect(damaged).toEqual([])
  })

  it.each([-12, -9, 9, 12])('reads a frame whose space is %i dB over its mark', (toneBalanceDb) => {
    expect(listen(burst({ toneBalanceDb })).frames.length).toBeGreaterThan(0)
  })

  it('reads a frame behind a single flag', () => {
    const { frames } = listen(burst({ flags: 1 }))
    expect(frames.length).toBeGreaterThan(0)
    expect(new Set(frames.map(({ precedingFlags }) => precedingFlags))).toEqual(new Set([1]))
  })

  it('does not depend on the blocks', () => {
    expect(listen(burst(), 7).frames).toEqual(listen(burst(), 5000).frames)
  })

  it('what its last symbols are is known when the stream has ended', () => {
    const whole = burst()
    const cut = whole.subarray(0, silence + 7 * 80 + frameSamples + 4)
    const { detector, frames } = listen(cut)
    const before = frames.length
    detector.finish?.()
    expect(frames.length).toBeGreaterThan(before)
  })

  it('a signal whose check sequence is wrong is damaged, noise is not', () => {
    const torn = burst()
    const middle = silence + 7 * 80 + frameSamples / 2
    torn.fill(0, middle, middle + 60)
    const { frames, damaged } = listen(torn)
    expect(frames).toEqual([])
    expect(damaged.length).toBeGreaterThan(0)
    for (const { startSample, endSample } of damaged) {
      expect(startSample).toBeGreaterThan(silence)
      expect(endSample - startSample).toBeGreaterThan(60)
      expect(endSample).toBeLessThan(torn.length)
    }
    const noise = listen(whiteNoise(20 * sampleRateHz, 0.1, seededRandom(54)))
    expect([noise.frames, noise.damaged]).toEqual([[], []])
  })

  it('goes on at another place with nothing known of what was before', () => {
    const audio = burst()
    const half = silence + 7 * 80 + 500
    const { detector, frames, damaged } = listen(audio.subarray(0, half))
    detector.restart(100_000)
    detector.process(audio.subarray(half))
    expect([frames, damaged]).toEqual([[], []])
    detector.restart(200_000)
    detector.process(audio)
    expect(frames.length).toBeGreaterThan(5)
    for (const { startSample } of frames)
      expect(Math.abs(startSample - 200_000 - silence - 7 * 80)).toBeLessThan(10)
  })
})
