// What detectorCost.ts measures: the receiver's parts, each run over the same recording.
import { noiseRmsForEbN0 } from '../../dsp/channel/noise.js'
import { createCorrelatorBankDetector } from '../../dsp/modem/correlators/correlatorDetector.js'
import type { Detector, DetectorSink } from '../../dsp/modem/detector.js'
import { createFrontEnd, workingRateHz } from '../../dsp/modem/frontEnd/frontEnd.js'
import { modulateTransmission } from '../../dsp/modem/modulateTransmission.js'
import type { ReceivedFrame } from '../../dsp/modem/receivedFrame.js'
import { createReceiver } from '../../dsp/modem/receiver.js'
import { createSequenceDetector } from '../../dsp/modem/sequence/sequenceDetector.js'
import { createResampler } from '../../dsp/resample/resampler.js'
import { seededRandom } from '../../src/runtime/random.js'
import { addNoise } from '../channel/addNoise.js'
import { randomFrame } from './randomFrame.js'

export const sampleRateHz = 48_000
const blockSamples = 4800

export interface Cost {
  readonly cpuSPerS: number
  /** distinct frames of the recording that came out; undefined for a part that makes none */
  readonly found?: number
}

/**
 * Transmissions with pauses as long as they are, all in the noise of a quiet channel.
 * @param ebN0Db of the middle ones; the others lie up to 4 dB off
 */
export function recording(
  audioS: number,
  seed: number,
  ebN0Db = 12,
): { audio: Float32Array; sent: Set<string> } {
  const random = seededRandom(seed)
  const signal = new Float32Array(audioS * sampleRateHz)
  const sent = new Set<string>()
  // Noise stays the same, the signal's level changes.
  const noiseRms = noiseRmsForEbN0(0.1 ** 2 / 2, ebN0Db, sampleRateHz)
  let at = sampleRateHz / 4
  for (;;) {
    const octets = randomFrame(40 + Math.floor(random() * 80), random)
    const part = modulateTransmission({
      frames: [octets],
      preambleMs: 250,
      tailMs: 20,
      sampleRateHz,
      peakLevel: 0.1 * 10 ** ((8 * random() - 4) / 20),
    })
    if (at + 2 * part.length > signal.length) break
    signal.set(part, at)
    sent.add(Buffer.from(octets).toString('hex'))
    at += 2 * part.length
  }
  return { audio: addNoise(signal, noiseRms, random), sent }
}

export interface Part {
  readonly name: string
  readonly run: () => Cost
}

export function parts(audio: Float32Array, sent: ReadonlySet<string>): Part[] {
  const blocks: Float32Array[] = []
  for (let at = 0; at < audio.length; at += blockSamples)
    blocks.push(audio.subarray(at, at + blockSamples))
  const audioS = audio.length / sampleRateHz
  const frontEnd = createFrontEnd(sampleRateHz)
  const working = blocks.map((block) => frontEnd.process(block))

  const withoutFrames = (name: string, make: () => (block: Float32Array) => void): Part => ({
    name,
    run: () => {
      const process = make()
      const spent = cpuS(() => {
        for (const block of blocks) process(block)
      })
      return { cpuSPerS: spent / audioS }
    },
  })
  const detector = (name: string, make: (sink: DetectorSink) => Detector): Part => ({
    name,
    run: () => runDetector(make, working, audioS, sent),
  })
  /** @param heard instead of the recording: no frame is in it */
  const quiet = (name: string, heard: () => Float32Array): Part => ({
    name: `whole receiver, careful, ${name}`,
    run: () => {
      const receiver = createReceiver({ sampleRateHz, repair: 'careful' })
      const block = heard()
      const spent = cpuS(() => {
        for (let at = 0; at < audio.length; at += block.length) receiver.push(block)
      })
      return { cpuSPerS: spent / audioS }
    },
  })
  const whole = (repair: 'none' | 'careful' | 'eager'): Part => ({
    name: `whole receiver, repair ${repair}`,
    run: () => {
      const receiver = createReceiver({ sampleRateHz, repair })
      const frames: ReceivedFrame[] = []
      const spent = cpuS(() => {
        for (const block of blocks) frames.push(...receiver.push(block))
        frames.push(...receiver.finish())
      })
      return {
        cpuSPerS: spent / audioS,
        found: countFound(
          frames.map((f) => f.octets),
          sent,
        ),
      }
    },
  })
  return [
    withoutFrames(`resampler to ${workingRateHz} Hz`, () => {
      const resampler = createResampler({
        fromHz: sampleRateHz,
        toHz: workingRateHz,
        passbandHz: 3300,
      })
      return (block) => resampler.process(block)
    }),
    withoutFrames('front end (limiter and resampler)', () => {
      const front = createFrontEnd(sampleRateHz)
      return (block) => front.process(block)
    }),
    detector('correlator bank', (sink) => createCorrelatorBankDetector(sink)),
    detector('sequence detector, no repair', (sink) => createSequenceDetector(sink, 'none')),
    detector('sequence detector, careful', (sink) => createSequenceDetector(sink, 'careful')),
    whole('none'),
    whole('careful'),
    whole('eager'),
    quiet('noise alone', () => addNoise(new Float32Array(sampleRateHz), 0.02, seededRandom(2))),
    quiet('a closed squelch (one value)', () => new Float32Array(blockSamples)),
  ]
}

function runDetector(
  make: (sink: DetectorSink) => Detector,
  working: readonly Float32Array[],
  audioS: number,
  sent: ReadonlySet<string>,
): Cost {
  const octets: Uint8Array[] = []
  const detector = make({
    frame: (candidate) => octets.push(candidate.octets),
    damaged: () => undefined,
  })
  const spent = cpuS(() => {
    for (const block of working) detector.process(block)
    detector.finish?.()
  })
  return { cpuSPerS: spent / audioS, found: countFound(octets, sent) }
}

function cpuS(work: () => void): number {
  const before = process.cpuUsage()
  work()
  const { user, system } = process.cpuUsage(before)
  return (user + system) / 1e6
}

function countFound(frames: readonly Uint8Array[], sent: ReadonlySet<string>): number {
  const found = new Set(frames.map((octets) => Buffer.from(octets).toString('hex')))
  return [...found].filter((hex) => sent.has(hex)).length
}
