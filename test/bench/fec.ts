// What forward error correction gains in white noise, and what it costs in airtime: frames of 72 octets (FCS counted), each in
// a transmission of its own. Eb is the energy of a bit on the air, so the check octets' own energy is not taken off the gain.
import { noiseRmsForEbN0 } from '../../dsp/channel/noise.js'
import {
  modulateTransmission,
  type SendingCode,
  transmissionDurationMs,
} from '../../dsp/modem/modulateTransmission.js'
import { createReceiver } from '../../dsp/modem/receiver.js'
import { meanPower } from '../../dsp/numbers/power.js'
import { seededRandom } from '../../src/runtime/random.js'
import { sendingCodes } from '../../src/setup/sendingCodes.js'
import { addNoise } from '../channel/addNoise.js'
import type { Bench } from './bench.js'
import { randomFrame } from './randomFrame.js'
import { table } from './receiveFile.js'

/** The receiver's working rate. */
const sampleRateHz = 12_000
/** 72 with the FCS */
const octetCount = 70
const plan = { preambleMs: 300, tailMs: 20, sampleRateHz, peakLevel: 0.1 }

export const bench: Bench = {
  name: 'fec',
  about: 'forward error correction: frames received against Eb/N0, airtime',
  async run({ seed, quick }) {
    const frameCount = quick ? 50 : 200
    const ebN0Dbs = quick
      ? [2, 2.7, 3.4, 4.1, 4.8, 5.5]
      : [2.2, 2.7, 3.2, 3.7, 4.2, 4.7, 5.2, 5.7, 6.2]
    const rows = Object.entries(sendingCodes).map(([kind, code]) => {
      const points = ebN0Dbs.map((db) => measure(code, db, frameCount, seed))
      const shares = points.map(({ share }) => share)
      return [
        kind,
        ...shares.map((share) => `${Math.round(100 * share)} %`),
        crossing(ebN0Dbs, shares),
        points.reduce((sum, { wrong }) => sum + wrong, 0),
        airtimeMs(code).toFixed(0),
      ]
    })
    console.log(`${frameCount} frames a point, repair careful; share received\n`)
    const titles = ebN0Dbs.map((db) => `${db} dB`)
    console.log(table([['sent with', ...titles, 'half at, dB', 'wrong', 'airtime, ms'], ...rows]))
  },
}

function measure(
  code: SendingCode | undefined,
  ebN0Db: number,
  frameCount: number,
  seed: number,
): { share: number; wrong: number } {
  const random = seededRandom(seed + Math.round(100 * ebN0Db))
  const receiver = createReceiver({ sampleRateHz, repair: 'careful', il2p: code?.kind === 'il2p' })
  const sent = new Set<string>()
  const found = new Set<string>()
  let wrong = 0
  const take = (frames: ReturnType<typeof receiver.push>): void => {
    for (const { octets } of frames) {
      const hex = Buffer.from(octets).toString('hex')
      // One that comes twice is wrong, too.
      if (!sent.has(hex) || found.has(hex)) wrong++
      else found.add(hex)
    }
  }
  for (let count = 0; count < frameCount; count++) {
    const octets = randomFrame(octetCount, random)
    sent.add(Buffer.from(octets).toString('hex'))
    const signal = modulateTransmission({ ...plan, frames: [octets], code })
    const pause = Math.round((0.1 + 0.05 * random()) * sampleRateHz)
    const audio = new Float32Array(pause + signal.length)
    audio.set(signal, pause)
    const rms = noiseRmsForEbN0(meanPower(signal), ebN0Db, sampleRateHz)
    take(receiver.push(addNoise(audio, rms, random)))
  }
  take(receiver.finish())
  return { share: found.size / frameCount, wrong }
}

/** By straight lines between the points. */
function crossing(ebN0Dbs: readonly number[], shares: readonly number[]): string {
  for (let at = 1; at < shares.length; at++) {
    const [low, high] = [shares[at - 1]!, shares[at]!]
    if (low < 0.5 && high >= 0.5) {
      const part = (0.5 - low) / (high - low)
      return (ebN0Dbs[at - 1]! + part * (ebN0Dbs[at]! - ebN0Dbs[at - 1]!)).toFixed(1)
    }
  }
  return '-'
}

/** Without preamble and tail. */
function airtimeMs(code: SendingCode | undefined): number {
  const random = seededRandom(1)
  const lengths = Array.from({ length: 50 }, () =>
    transmissionDurationMs({
      ...{ frames: [randomFrame(octetCount, random)], preambleMs: 0, tailMs: 0, code },
    }),
  )
  return lengths.reduce((sum, length) => sum + length, 0) / lengths.length
}
