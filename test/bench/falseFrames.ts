// Hours of noise through the receiver: how often does it hand out a frame that nobody sent?
import { whiteNoise } from '../../dsp/channel/noise.js'
import type { ReceivedFrame, RepairLevel } from '../../dsp/modem/receivedFrame.js'
import { createReceiver } from '../../dsp/modem/receiver.js'
import { seededRandom } from '../../src/runtime/random.js'
import { createVoiceLike } from '../channel/voiceLike.js'
import type { Bench } from './bench.js'
import { table } from './receiveFile.js'

/** The receiver's working rate: nothing above it reaches the detectors, so a higher rate would only take longer. */
const sampleRateHz = 12_000

interface Finding {
  readonly noise: string
  readonly repair: RepairLevel
  readonly hours: number
  readonly frames: readonly ReceivedFrame[]
  readonly rejected: number
  readonly implausible: number
  readonly busyShare: number
}

export const bench: Bench = {
  name: 'false-frames',
  about: 'frames handed out in hours of white and voice-like noise',
  async run({ seed, quick }) {
    const hoursOf = { careful: quick ? 0.25 : 10, eager: quick ? 0.1 : 2 }
    const findings = (['careful', 'eager'] as const).flatMap((repair) => [
      listen('white', repair, hoursOf[repair], seed),
      listen('voice-like', repair, hoursOf[repair], seed),
    ])
    console.log(
      table([
        ['noise', 'repair', 'hours', 'frames', 'damaged segments', 'implausible', 'busy %'],
        ...findings.map((finding) => [
          finding.noise,
          finding.repair,
          finding.hours,
          finding.frames.length,
          finding.rejected,
          finding.implausible,
          (100 * finding.busyShare).toFixed(2),
        ]),
      ]),
    )
    for (const { noise, repair, frames } of findings)
      for (const frame of frames)
        console.log(
          `${noise}, ${repair}: ${Buffer.from(frame.octets).toString('hex')}` +
            ` (${frame.detector}, ${frame.repairedBits} bits repaired)`,
        )
  },
}

function listen(noise: string, repair: RepairLevel, hours: number, seed: number): Finding {
  const random = seededRandom(seed)
  const voice = createVoiceLike(sampleRateHz, 0.2, random)
  const nextBlock = (): Float32Array =>
    noise === 'white' ? whiteNoise(blockSamples, 0.1, random) : voice(blockSamples)
  const receiver = createReceiver({ sampleRateHz, repair })
  const frames: ReceivedFrame[] = []
  const blocks = Math.round((hours * 3600 * sampleRateHz) / blockSamples)
  let busy = 0
  for (let block = 0; block < blocks; block++) {
    frames.push(...receiver.push(nextBlock()))
    if (receiver.channelBusy) busy++
  }
  frames.push(...receiver.finish())
  const { fcsRejected, implausible } = receiver.counters
  return {
    noise,
    repair,
    hours,
    frames,
    rejected: fcsRejected,
    implausible,
    busyShare: busy / blocks,
  }
}

/** 10 ms: the busy share is looked at as often. */
const blockSamples = 120
