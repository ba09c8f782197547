// CPU seconds per second of 48 kHz audio: each part of the receiver, the whole of it, and, where GNU Radio is installed,
// two receivers of its compiled stock blocks (peerChain.py) on the same recording in the same call.
import { join } from 'node:path'
import { addNoise, noiseRmsForEbN0 } from '../../dsp/channel/noise.js'
import { createCorrelatorBankDetector } from '../../dsp/modem/correlatorBankDetector.js'
import type { Detector, DetectorSink } from '../../dsp/modem/detector.js'
import { createFrontEnd, workingRateHz } from '../../dsp/modem/frontEnd.js'
import type { ReceivedFrame } from '../../dsp/modem/receivedFrame.js'
import { createReceiver } from '../../dsp/modem/receiver.js'
import { createSequenceDetector } from '../../dsp/modem/sequenceDetector.js'
import { modulateTransmission } from '../../dsp/modem/transmission.js'
import { createResampler } from '../../dsp/resample/resampler.js'
import { createWav } from '../../src/audio/wavWriter.js'
import { seededRandom } from '../../src/runtime/random.js'
import type { Bench } from './bench.js'
import { noPeer, type PeerKind, peerReceptions } from './peer.js'
import { randomFrame } from './randomFrame.js'
import { table } from './receiveFile.js'

const sampleRateHz = 48_000
const blockSamples = 4800

interface Cost {
  readonly name: string
  readonly cpuSPerS: number
  /** distinct frames of the recording that came out; undefined for a part that makes none */
  readonly found?: number
}

export const bench: Bench = {
  name: 'detector-cost',
  about:
    'CPU time of each part of the receiver, beside compiled stock blocks where they are installed',
  async run({ seed, output, quick }) {
    const audioS = quick ? 60 : 300
    const { audio, sent } = recording(audioS, seed)
    const runs = quick ? 3 : 7
    const measured = measureInTurn(parts(audio, sent), runs)
    const file = join(output, 'detector-cost.wav')
    const wav = createWav(file, { sampleRateHz, sampleFormat: 's16le', channelCount: 1 })
    wav.write(audio)
    wav.close()
    const peers = (['plain', 'lean'] as const).flatMap((kind) => peerCost(kind, file, sent, runs))
    console.log(
      `${audioS} s of audio, ${sent.size} frames at 8 to 16 dB Eb/N0 in half of the time; middle one of ${runs} runs\n`,
    )
    console.log(
      table([
        ['part', 'CPU s per s', 'frames'],
        ...[...measured, ...peers].map((cost) => [
          cost.name,
          cost.cpuSPerS.toFixed(5),
          cost.found ?? '',
        ]),
      ]),
    )
    if (peers.length === 0) console.log(`\n${noPeer}`)
  },
}

/** One part after the other, round after round, so that whatever else the machine does meets all of them alike. */
function measureInTurn(all: readonly Part[], runs: number): Cost[] {
  const results = all.map(() => [] as Omit<Cost, 'name'>[])
  // The first rounds are thrown away: the just-in-time compiler is still at work.
  for (let round = 0; round < runs + warmUpRounds; round++)
    all.forEach((part, index) => {
      const result = part.run()
      if (round >= warmUpRounds) results[index]!.push(result)
    })
  return all.map((part, index) => ({ name: part.name, ...median(results[index]!) }))
}

const warmUpRounds = 2

/** Transmissions with pauses as long as they are, all in the noise of a quiet channel. */
function recording(audioS: number, seed: number): { audio: Float32Array; sent: Set<string> } {
  const random = seededRandom(seed)
  const signal = new Float32Array(audioS * sampleRateHz)
  const sent = new Set<string>()
  // Noise stays the same, the signal's level changes.
  const noiseRms = noiseRmsForEbN0(0.1 ** 2 / 2, 12, sampleRateHz)
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

interface Part {
  readonly name: string
  readonly run: () => Omit<Cost, 'name'>
}

function parts(audio: Float32Array, sent: ReadonlySet<string>): Part[] {
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
  ]
}

function runDetector(
  make: (sink: DetectorSink) => Detector,
  working: readonly Float32Array[],
  audioS: number,
  sent: ReadonlySet<string>,
): Omit<Cost, 'name'> {
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

function median<T extends { readonly cpuSPerS: number }>(runs: readonly T[]): T {
  return runs.toSorted((a, b) => a.cpuSPerS - b.cpuSPerS)[runs.length >> 1]!
}

function peerCost(kind: PeerKind, file: string, sent: ReadonlySet<string>, runs: number): Cost[] {
  const receptions = peerReceptions(kind, Array<string>(runs).fill(file))
  if (receptions.length === 0) return []
  const results = receptions.map(({ frames, cpuS, audioS }) => ({
    cpuSPerS: cpuS / audioS,
    found: new Set(frames.filter((hex) => sent.has(hex))).size,
  }))
  return [{ name: `GNU Radio blocks, ${kind} chain`, ...median(results) }]
}
