// When the detectors for tones that lie elsewhere begin to listen, without the detector in tune: its signs are written down.
import { describe, expect, it } from 'vitest'
import type { CandidateFrame } from '../../../../dsp/modem/detector.js'
import { createAudioHistory } from '../../../../dsp/modem/frontEnd/audioHistory.js'
import { modulateTransmission } from '../../../../dsp/modem/modulateTransmission.js'
import { createOffTuneDetectors } from '../../../../dsp/modem/sequence/offTune.js'
import { seededRandom } from '../../../../src/runtime/random.js'
import { testFrame } from '../receiving.js'

const sampleRateHz = 12_000
/** 0.3 s: less than the detectors go back. */
const frame = modulateTransmission({
  ...{ frames: [testFrame(1, seededRandom(44))], preambleMs: 60, tailMs: 13, sampleRateHz },
  ...{ peakLevel: 0.4, toneOffsetHz: 200 },
})
const [before, behind] = [1200, 600]

function heardAfter(notes: readonly (readonly [coherence: number, symbols: number])[]) {
  const frames: CandidateFrame[] = []
  const sink = { frame: (one: CandidateFrame) => frames.push(one), damaged: () => undefined }
  const history = createAudioHistory(20 * sampleRateHz)
  const offTune = createOffTuneDetectors(sink, 'none', history)
  const audio = new Float32Array(before + frame.length + behind)
  audio.set(frame, before)
  history.append(audio)
  for (const [coherence, symbols] of notes)
    for (let at = 0; at < symbols; at++) offTune.note({ coherence })
  offTune.follow(history.end)
  const { busy } = offTune
  offTune.finish()
  return { count: frames.length, busy }
}

describe('signals off their frequency', () => {
  // A mean that looks back on 48 symbols of 0.55, from 0 on, is above 0.475 after 95 of them: (47/48)^95 = 0.135 = 1 - 0.475/0.55.
  it('are listened for when their mean coherence has stayed between the limits for 80 symbols', () => {
    expect(heardAfter([[0.55, 173]])).toEqual({ count: 0, busy: false })
    expect(heardAfter([[0.55, 174]]).count).toBe(1)
  })

  it.each([
    ['above 0.475, from below', [[0.475, 3000]], [[0.476, 3000]]],
    [
      'below 0.61, from above',
      [
        [1, 60],
        [0.611, 3000],
      ],
      [
        [1, 60],
        [0.609, 3000],
      ],
    ],
    [
      'without a break',
      [
        [0.55, 150],
        [0, 8],
        [0.55, 79],
      ],
      [
        [0.55, 150],
        [0, 8],
        [0.55, 300],
      ],
    ],
  ] as const)('it stays %s', (_, not, heard) => {
    expect(heardAfter(not).count).toBe(0)
    expect(heardAfter(heard).count).toBe(1)
  })

  it('those with the space tone alone higher are listened for, too, and nobody is busy by them', () => {
    const history = createAudioHistory(sampleRateHz)
    const offTune = createOffTuneDetectors(
      { frame: () => undefined, damaged: () => undefined },
      'none',
      history,
    )
    history.append(new Float32Array(600))
    const taken: number[] = []
    const slice = history.slice
    history.slice = (from, to) => {
      taken.push(to - from)
      return slice(from, to)
    }
    offTune.follow(history.end)
    expect(taken).toEqual([])
    const estimate = { coherence: 0.9, presence: 0.9, markStep: 0.1, spaceStep: 1.15 }
    for (let block = 0; block < 3; block++)
      offTune.noteBlock({ ...estimate, markAmplitude: 1, spaceAmplitude: 1 })
    offTune.follow(history.end)
    expect(taken).toEqual([600])
    expect(offTune.busy).toBe(false)
    offTune.finish()
  })
})
