// Detectors that start, go on for a while and stop: tones 200 Hz higher, two frames, and the position by hand.
import { describe, expect, it } from 'vitest'
import type { CandidateFrame } from '../../../../dsp/modem/detector.js'
import { createAudioHistory } from '../../../../dsp/modem/frontEnd/audioHistory.js'
import { modulateTransmission } from '../../../../dsp/modem/modulateTransmission.js'
import { createOccasionalDetectors } from '../../../../dsp/modem/sequence/occasional.js'
import { seededRandom } from '../../../../src/runtime/random.js'
import { hex, testFrame, withGaps } from '../receiving.js'

const [first, second] = [testFrame(4, seededRandom(5)), testFrame(5, seededRandom(6))]
const preambleMs = 8 * (80 / 12)
const signalOf = (frame: Uint8Array, toneOffsetHz: number): Float32Array =>
  modulateTransmission({
    ...{ frames: [frame], preambleMs, tailMs: 0, peakLevel: 0.3, sampleRateHz: 12_000 },
    toneOffsetHz,
  })
const gap = 12_000

/** Two frames, half a second and more around each of them. */
function listening(shifts = [{ shiftSteps: 1 }], toneOffsetHz = 200) {
  const signals = [first, second].map((frame) => signalOf(frame, toneOffsetHz))
  const audio = withGaps(signals, gap, 0.003, seededRandom(7))
  const history = createAudioHistory(60_000)
  history.append(audio)
  const found: CandidateFrame[] = []
  const damaged: unknown[] = []
  const detectors = createOccasionalDetectors(
    { frame: (one) => found.push(one), damaged: (one) => damaged.push(one) },
    'careful',
    history,
    { shifts, leadSamples: 3000, holdSamples: 2000 },
  )
  const firstEnd = gap + signals[0]!.length
  const secondStart = firstEnd + gap
  const octets = () => found.map((one) => hex(one.octets))
  return { detectors, found, damaged, octets, firstEnd, secondStart, end: audio.length }
}

describe('detectors for tones that lie elsewhere', () => {
  it('do nothing until they are wanted', () => {
    const { detectors, octets, end } = listening()
    detectors.follow(end, false)
    expect(detectors.busy).toBe(false)
    detectors.finish()
    expect(octets()).toEqual([])
  })

  it('go back when they start, and tell where in the stream a frame stands', () => {
    const { detectors, found, octets, firstEnd } = listening()
    detectors.follow(firstEnd + 500, true)
    expect(octets()).toEqual([])
    detectors.finish()
    expect(octets()).toEqual([hex(first)])
    expect(Math.abs(found[0]!.endSample - firstEnd)).toBeLessThan(12)
    const length = found[0]!.endSample - found[0]!.startSample
    expect(Math.abs(found[0]!.startSample - (firstEnd - length))).toBeLessThan(12)
  })

  it('go back no further than they may, nor before the stream', () => {
    const late = listening()
    late.detectors.follow(late.firstEnd + 2000, true)
    late.detectors.finish()
    expect(late.octets()).toEqual([])
    const early = listening()
    early.detectors.follow(2000, true)
    expect(early.detectors.busy).toBe(false)
    early.detectors.finish()
    expect(early.octets()).toEqual([])
  })

  it('go on for a while when they are no longer wanted', () => {
    const { detectors, octets, firstEnd } = listening()
    const start = firstEnd - 1500
    detectors.follow(start, true)
    expect(detectors.busy).toBe(true)
    for (let at = start + 250; at <= start + 2000; at += 250) detectors.follow(at, false)
    expect(octets()).toEqual([])
    // Up to here they listened; what they have is told when they stop.
    detectors.follow(start + 2001, false)
    expect(octets()).toEqual([hex(first)])
    expect(detectors.busy).toBe(false)
    detectors.follow(start + 2500, false)
    detectors.finish()
    expect(octets()).toEqual([hex(first)])
  })

  it('start again later, and know where', () => {
    const { detectors, found, octets, firstEnd, secondStart, end } = listening()
    detectors.follow(firstEnd + 500, true)
    detectors.follow(secondStart - 3000, false)
    expect(octets()).toEqual([hex(first)])
    for (let at = secondStart; at < end - 8000; at += 500) detectors.follow(at, true)
    detectors.finish()
    expect(octets()).toEqual([hex(first), hex(second)])
    const gapBetween = found[1]!.startSample - found[0]!.endSample
    expect(Math.abs(gapBetween - gap - 7 * 80)).toBeLessThan(100)
    expect(found[1]!.startSample).toBeGreaterThan(secondStart)
  })

  it('are as many as there are shifts, and busy when one of them hears something', () => {
    const { detectors, octets, firstEnd } = listening([{ shiftSteps: -1 }, { shiftSteps: 1 }])
    detectors.follow(firstEnd - 100, true)
    expect(detectors.busy).toBe(true)
    detectors.follow(firstEnd + 600, true)
    expect(detectors.busy).toBe(false)
    detectors.finish()
    expect(octets()).toEqual([hex(first)])
  })

  it('say nothing of what is damaged', () => {
    const { detectors, damaged, octets, firstEnd } = listening(undefined, 290)
    detectors.follow(firstEnd - 300, true)
    detectors.finish()
    expect(octets()).toEqual([])
    expect(damaged).toEqual([])
  })
})
