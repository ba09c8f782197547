// What the gate lets through to a detector, and that signals which only that detector reads still reach it.
import { describe, expect, it } from 'vitest'
import { noiseRmsForEbN0, whiteNoise } from '../../../../dsp/channel/noise.js'
import { encodeHdlc } from '../../../../dsp/framing/hdlcEncoder.js'
import { encodeNrzi } from '../../../../dsp/framing/nrzi.js'
import { createSignalGate } from '../../../../dsp/modem/correlators/signalGate.js'
import { createAudioHistory } from '../../../../dsp/modem/frontEnd/audioHistory.js'
import { createSequenceDetector } from '../../../../dsp/modem/sequence/sequenceDetector.js'
import { meanPower } from '../../../../dsp/numbers/power.js'
import { type Random, seededRandom } from '../../../../src/runtime/random.js'
import { addNoise } from '../../../channel/addNoise.js'
import { hex, receiveAll, testFrame } from '../receiving.js'

const stepSamples = 120

/** Runs the gate over audio at the working rate, before a detector that keeps what it is given. */
function gated(audio: Float32Array) {
  const history = createAudioHistory(2 * audio.length)
  const given = new Float32Array(audio.length)
  let next = 0
  let count = 0
  const gate = createSignalGate(
    {
      name: 'listener',
      process(samples) {
        given.set(samples, next)
        next += samples.length
        count += samples.length
      },
      restart(position) {
        next = position
      },
    },
    history,
  )
  const sink = { frame: () => undefined, damaged: () => undefined }
  const sequence = createSequenceDetector(sink, 'none', (signs) => gate.note(signs))
  history.append(audio)
  for (let at = 0; at + stepSamples <= audio.length; at += stepSamples) {
    sequence.process(audio.subarray(at, at + stepSamples))
    gate.follow(at + stepSamples)
  }
  return { given, share: count / audio.length }
}

it('noise does not open it', () => {
  expect(gated(whiteNoise(60 * 12_000, 0.2, seededRandom(61))).share).toBeLessThan(0.02)
})

it('a signal gets through whole, from before its first flag on', () => {
  const random = seededRandom(62)
  const signal = send(testFrame(60, random), random)
  const audio = new Float32Array(signal.length + 24_000)
  audio.set(signal, 12_000)
  const noisy = addNoise(audio, noiseRmsForEbN0(meanPower(signal), 10, 12_000), random)
  const { given, share } = gated(noisy)
  const end = 12_000 + signal.length
  expect(given.subarray(12_000, end)).toEqual(noisy.subarray(12_000, end))
  expect(share).toBeLessThan((signal.length + 0.5 * 12_000) / noisy.length)
})

interface Sender {
  readonly toneOffsetHz?: number
  /** turns by which the phase jumps at most, at every change of tone */
  readonly phaseJump?: number
}

/** A frame after 20 ms of flags. */
function send(octets: Uint8Array, random: Random, sender: Sender = {}): Float32Array {
  const { toneOffsetHz = 0, phaseJump = 0 } = sender
  const levels = encodeNrzi(encodeHdlc({ frames: [octets], leadingFlags: 3, trailingFlags: 2 }))
  const samples = new Float32Array(levels.length * 10)
  let turns = 0
  for (let symbol = 0; symbol < levels.length; symbol++) {
    if (symbol > 0 && levels[symbol] !== levels[symbol - 1]) turns += phaseJump * random()
    for (let n = 10 * symbol; n < 10 * symbol + 10; n++) {
      samples[n] = 0.3 * Math.cos(2 * Math.PI * turns)
      turns += ((levels[symbol] === 1 ? 1200 : 2200) + toneOffsetHz) / 12_000
    }
  }
  return samples
}

describe('strange senders that the correlators read get through at 20 dB', () => {
  it.each<[string, Sender]>([
    ['200 Hz high', { toneOffsetHz: 200 }],
    ['200 Hz low', { toneOffsetHz: -200 }],
    ['a phase that jumps with the tones', { phaseJump: 0.3 }],
  ])('%s', (_, sender) => {
    const random = seededRandom(63)
    for (let trial = 0; trial < 5; trial++) {
      const octets = testFrame(60, random)
      const signal = send(octets, random, sender)
      const audio = new Float32Array(signal.length + 12_000)
      audio.set(signal, 6000)
      const noisy = addNoise(audio, noiseRmsForEbN0(meanPower(signal), 20, 12_000), random)
      const { frames } = receiveAll(noisy, { sampleRateHz: 12_000, repair: 'careful' })
      expect(frames.map((frame) => hex(frame.octets))).toEqual([hex(octets)])
    }
  })
})
