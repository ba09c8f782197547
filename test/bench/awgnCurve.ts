// Frame success against Eb/N0 on the project's own simulated path: white noise on the audio, every frame in a transmission of
// its own, with a preamble of 300 ms and a pause of noise before it. Acquisition is the receiver's own business.
import { writeFileSync } from 'node:fs'
import { join } from 'node:path'
import { noiseRmsForEbN0 } from '../../dsp/channel/noise.js'
import { modulateTransmission } from '../../dsp/modem/modulateTransmission.js'
import type { RepairLevel } from '../../dsp/modem/receivedFrame.js'
import { createReceiver } from '../../dsp/modem/receiver.js'
import { meanPower } from '../../dsp/numbers/power.js'
import { type Random, seededRandom } from '../../src/runtime/random.js'
import { addNoise } from '../channel/addNoise.js'
import type { Bench } from './bench.js'
import { coherentEventRate, frameSuccess, noncoherentErrorRate } from './coherentBound.js'
import { randomFrame } from './randomFrame.js'
import { table } from './receiveFile.js'
import { svgPlot } from './svgPlot.js'

const sampleRateHz = 48_000
/** 72 with the FCS */
const octetCount = 70
/** Those 72 octets with inserted zeros and both flags, on average over random frames (computed). */
const channelBits = 594.4
const repairLevels: readonly RepairLevel[] = ['none', 'careful', 'eager']

interface Point {
  readonly ebN0Db: number
  readonly success: Readonly<Record<RepairLevel, number>>
  readonly wrong: Readonly<Record<RepairLevel, number>>
}

export const bench: Bench = {
  name: 'awgn-curve',
  about: 'frame success against Eb/N0 in white noise, beside the coherent bound',
  async run({ seed, output, quick }) {
    const framesPerPoint = quick ? 60 : 500
    const stepDb = quick ? 1 : 0.5
    const points: Point[] = []
    for (let ebN0Db = 4; ebN0Db <= 13; ebN0Db += stepDb)
      points.push(measurePoint(ebN0Db, framesPerPoint, seededRandom(seed + 1000 * ebN0Db)))
    console.log(`${framesPerPoint} frames of 72 octets (FCS counted) a point; share received\n`)
    console.log(tableOf(points))
    console.log(`\n${crossings(points)}`)
    const file = join(output, 'awgn-curve.svg')
    writeFileSync(file, plotOf(points))
    console.log(`\nplot: ${file}`)
  },
}

function measurePoint(ebN0Db: number, frameCount: number, random: Random): Point {
  const receivers = repairLevels.map((repair) => ({
    repair,
    receiver: createReceiver({ sampleRateHz, repair }),
    found: new Set<string>(),
    wrong: 0,
  }))
  const sent = new Set<string>()
  const listen = (audio: Float32Array | undefined): void => {
    for (const entry of receivers) {
      const { receiver } = entry
      for (const frame of audio === undefined ? receiver.finish() : receiver.push(audio)) {
        const hex = Buffer.from(frame.octets).toString('hex')
        if (sent.has(hex)) entry.found.add(hex)
        else entry.wrong++
      }
    }
  }
  for (let count = 0; count < frameCount; count++) {
    const octets = randomFrame(octetCount, random)
    sent.add(Buffer.from(octets).toString('hex'))
    listen(noisyTransmission(octets, ebN0Db, random))
  }
  listen(undefined)
  const each = (of: (entry: (typeof receivers)[number]) => number) =>
    Object.fromEntries(receivers.map((entry) => [entry.repair, of(entry)])) as Record<
      RepairLevel,
      number
    >
  return {
    ebN0Db,
    success: each((entry) => entry.found.size / frameCount),
    wrong: each((entry) => entry.wrong),
  }
}

function noisyTransmission(octets: Uint8Array, ebN0Db: number, random: Random): Float32Array {
  const signal = modulateTransmission({
    frames: [octets],
    preambleMs: 300,
    tailMs: 20,
    sampleRateHz,
    peakLevel: 0.1,
  })
  // A pause of any length: the next preamble starts at any phase of the receiver's clocks.
  const pause = Math.round((0.1 + 0.05 * random()) * sampleRateHz)
  const audio = new Float32Array(pause + signal.length)
  audio.set(signal, pause)
  return addNoise(audio, noiseRmsForEbN0(meanPower(signal), ebN0Db, sampleRateHz), random)
}

function tableOf(points: readonly Point[]): string {
  const percent = (share: number): string => (100 * share).toFixed(1)
  return table([
    ['Eb/N0 dB', ...repairLevels, 'wrong', 'coherent bound', 'one symbol, noncoherent'],
    ...points.map((point) => [
      point.ebN0Db.toFixed(1),
      ...repairLevels.map((repair) => percent(point.success[repair])),
      repairLevels.map((repair) => point.wrong[repair]).join('/'),
      percent(frameSuccess(coherentEventRate(point.ebN0Db), channelBits)),
      percent(frameSuccess(noncoherentErrorRate(point.ebN0Db), channelBits)),
    ]),
  ])
}

/** Where the curves cross a half and nine tenths, by straight lines between the points. */
function crossings(points: readonly Point[]): string {
  const crossing = (repair: RepairLevel, share: number): string => {
    for (let index = 1; index < points.length; index++) {
      const [before, after] = [points[index - 1]!, points[index]!]
      const [low, high] = [before.success[repair], after.success[repair]]
      if (low < share && high >= share) {
        const part = (share - low) / (high - low)
        return (before.ebN0Db + part * (after.ebN0Db - before.ebN0Db)).toFixed(2)
      }
    }
    return '-'
  }
  return table([
    ['dB for', 'half', 'nine tenths'],
    ...repairLevels.map((repair) => [repair, crossing(repair, 0.5), crossing(repair, 0.9)]),
    ['coherent bound, no repair', '5.77', '7.12'],
  ])
}

function plotOf(points: readonly Point[]): string {
  const fine = Array.from({ length: 91 }, (_, n) => 4 + n / 10)
  return svgPlot({
    title: 'Frames of 72 octets received in white noise',
    xLabel: 'Eb/N0, dB',
    yLabel: 'share received',
    x: { from: 4, to: 13, step: 1 },
    y: { from: 0, to: 1, step: 0.1 },
    curves: [
      ...repairLevels.map((repair) => ({
        label: `measured, repair ${repair}`,
        kind: 'measured' as const,
        points: points.map((point) => [point.ebN0Db, point.success[repair]] as const),
      })),
      {
        label: 'coherent bound, no repair',
        kind: 'bound',
        points: fine.map((db) => [db, frameSuccess(coherentEventRate(db), channelBits)] as const),
      },
      {
        label: 'one symbol, noncoherent',
        kind: 'bound',
        points: fine.map(
          (db) => [db, frameSuccess(noncoherentErrorRate(db), channelBits)] as const,
        ),
      },
    ],
  })
}
