import { describe, expect, it } from 'vitest'
import { whiteNoise } from '../../../../dsp/channel/noise.js'
import type { CandidateFrame } from '../../../../dsp/modem/detector.js'
import { createAudioHistory } from '../../../../dsp/modem/frontEnd/audioHistory.js'
import { modulateTransmission } from '../../../../dsp/modem/modulateTransmission.js'
import { createOffTuneDetectors } from '../../../../dsp/modem/sequence/offTune.js'
import { createSequenceDetector } from '../../../../dsp/modem/sequence/sequenceDetector.js'
import { seededRandom } from '../../../../src/runtime/random.js'
import { hex, testFrame, withGaps } from '../receiving.js'

const sampleRateHz = 12_000
const gapSamples = 12_000

/** What the two detectors make of audio whose signs the one in tune gives them. */
function listen(audio: Float32Array): { frames: CandidateFrame[]; busySamples: number } {
  const frames: CandidateFrame[] = []
  const history = createAudioHistory(20 * sampleRateHz)
  const sink = { frame: (frame: CandidateFrame) => frames.push(frame), damaged: () => undefined }
  const offTune = createOffTuneDetectors(sink, 'careful', history)
  const inTune = createSequenceDetector(
    { frame: () => undefined, damaged: () => undefined },
    'none',
    (signs) => offTune.note(signs),
  )
  let busySamples = 0
  for (let at = 0; at < audio.length; at += 120) {
    const block = audio.subarray(at, at + 120)
    history.append(block)
    inTune.process(block)
    offTune.follow(history.end)
    if (offTune.busy) busySamples += block.length
  }
  offTune.finish()
  return { frames, busySamples }
}

function transmission(toneOffsetHz: number): { audio: Float32Array; octets: Uint8Array } {
  const random = seededRandom(31)
  const octets = testFrame(60, random)
  const signal = modulateTransmission({
    frames: [octets],
    preambleMs: 250,
    tailMs: 20,
    sampleRateHz,
    peakLevel: 0.3,
    toneOffsetHz,
  })
  return { audio: withGaps([signal], gapSamples, 0.05, random), octets }
}

describe('signals off their frequency', () => {
  it.each([-260, -200, 200, 260])('reads a frame at %i Hz, where it stands', (offset) => {
    const { audio, octets } = transmission(offset)
    const { frames, busySamples } = listen(audio)
    expect(new Set(frames.map((frame) => hex(frame.octets)))).toEqual(new Set([hex(octets)]))
    // 37 and a half flags of 80 samples go before the opening one, rounded up to 38.
    const opens = gapSamples + 38 * 80
    for (const frame of frames) expect(Math.abs(frame.startSample - opens)).toBeLessThan(12)
    expect(busySamples).toBeGreaterThan(0.5 * (audio.length - 2 * gapSamples))
  })

  it('does nothing about noise, and next to nothing about a signal in tune', () => {
    expect(listen(whiteNoise(60 * sampleRateHz, 0.1, seededRandom(8)))).toEqual({
      frames: [],
      busySamples: 0,
    })
    expect(listen(transmission(0).audio).busySamples).toBeLessThan(600)
  })
})
