// When one more detector listens for senders whose space tone lies 200 Hz higher: estimates by hand, and one such frame.
import { describe, expect, it } from 'vitest'
import type { CandidateFrame } from '../../../../dsp/modem/detector.js'
import { createAudioHistory } from '../../../../dsp/modem/frontEnd/audioHistory.js'
import { modulateTransmission } from '../../../../dsp/modem/modulateTransmission.js'
import { createSpreadDetector } from '../../../../dsp/modem/sequence/spread.js'
import { seededRandom } from '../../../../src/runtime/random.js'
import { hex, testFrame, withGaps } from '../receiving.js'

const frame = testFrame(4, seededRandom(5))
const signal = modulateTransmission({
  ...{ frames: [frame], preambleMs: 120, tailMs: 10, peakLevel: 0.3, sampleRateHz: 12_000 },
  toneSpacingErrorHz: 200,
})
const audio = withGaps([signal], 1000, 0.003, seededRandom(6))
const spread = { coherence: 0.9, presence: 0.9, markStep: 0, spaceStep: Math.PI / 3 }
const other = { ...spread, spaceStep: 0 }

/** Frames that are read where these are the estimates before the audio is gone over. */
function read(estimates: readonly (typeof spread)[]): string[] {
  const frames: CandidateFrame[] = []
  const history = createAudioHistory(40_000)
  const sink = { frame: (one: CandidateFrame) => frames.push(one), damaged: () => undefined }
  const detector = createSpreadDetector(sink, 'careful', history)
  for (const estimate of estimates) detector.note(estimate)
  history.append(audio)
  detector.follow(history.end)
  detector.finish()
  return frames.map(({ octets }) => hex(octets))
}

describe('a sender with a wider spread', () => {
  it('is listened for when three blocks in a row show it', () => {
    expect(read([spread, spread, spread])).toEqual([hex(frame)])
    expect(read([other, spread, spread, spread, spread])).toEqual([hex(frame)])
    expect(read([spread, spread])).toEqual([])
    expect(read([spread, spread, other, spread, spread])).toEqual([])
    expect(read([spread, spread, spread, other])).toEqual([])
  })

  it.each([
    ['a coherence', { coherence: 0.621 }, { coherence: 0.62 }],
    ['a presence', { presence: 0.501 }, { presence: 0.5 }],
    ['a step of space', { spaceStep: 0.601 }, { spaceStep: 0.6 }],
    ['a step of space beyond that of mark', { markStep: 0.44 }, { markStep: 0.45 }],
  ])('shows by %s above a limit', (_what, above, below) => {
    const three = (change: Partial<typeof spread>) =>
      read(new Array(3).fill({ ...spread, ...change }))
    expect(three(above)).toEqual([hex(frame)])
    expect(three(below)).toEqual([])
  })
})
