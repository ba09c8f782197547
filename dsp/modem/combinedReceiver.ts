// Several receivers of one channel: two antennas apart, or of opposite polarisation, on one sample clock. Each works by itself; a
// frame that any of them hears is handed out once, and signals in which none heard a frame are decided on jointly (copies/).
// One more listens to all of them mixed (mixture.ts).
import { createCopyCombiner } from './copies/combine.js'
import { createReceiverMixture } from './mixture.js'
import type {
  DamagedFrame,
  ReceivedFrame,
  ReceiverCounters,
  ReceiverOptions,
} from './receivedFrame.js'
import { createReceiver } from './receiver.js'

/** Whom frames came from; each only grows. */
export interface Contributions {
  /** frames that each receiver heard by itself */
  readonly alone: number[]
  /** frames out of what several receivers heard, or of several transmissions */
  joint: number
}

export interface CombinedReceiver {
  /** @param blocks of equal length, one for each receiver, mono, full scale ±1 */
  push(blocks: readonly Float32Array[]): ReceivedFrame[]
  finish(): ReceivedFrame[]
  takeDamaged(): DamagedFrame[]
  readonly channelBusy: boolean
  readonly counters: Readonly<ReceiverCounters>
  readonly contributions: Readonly<Contributions>
}

/**
 * @param count receivers, 2 or more
 * @throws RangeError for a sample rate outside 8000 to 192000 Hz
 */
export function createCombinedReceiver(
  options: Omit<ReceiverOptions, 'combiner'>,
  count: number,
): CombinedReceiver {
  const combiner = createCopyCombiner(options.repair)
  const receivers = Array.from({ length: count }, () => createReceiver({ ...options, combiner }))
  const mixture = createReceiverMixture(options.sampleRateHz, count)
  const ofMixture = mixture && createReceiver(options)
  const counters: ReceiverCounters = { frames: 0, repaired: 0, fcsRejected: 0, implausible: 0 }
  const contributions: Contributions = { alone: new Array<number>(count).fill(0), joint: 0 }
  let latest: ReceivedFrame[] = []

  /** The first one to hear it tells it: waiting for a better copy would hold everything up. */
  const isNew = (frame: ReceivedFrame): boolean => {
    if (latest.some((other) => isSame(other, frame))) return false
    latest.push(frame)
    latest = latest.filter(
      ({ lastSample }) => lastSample > frame.lastSample - rememberS * options.sampleRateHz,
    )
    return true
  }
  const merge = (
    heard: readonly ReceivedFrame[][],
    mixed: readonly ReceivedFrame[] = [],
  ): ReceivedFrame[] => {
    const alone = heard.flatMap((frames, channel) =>
      frames.filter((frame) => {
        if ((frame.copies ?? 1) > 1) contributions.joint++
        else contributions.alone[channel]!++
        return isNew(frame)
      }),
    )
    const joint = mixed.filter(isNew)
    contributions.joint += joint.length
    const frames = [...alone, ...joint]
    counters.frames += frames.length
    counters.repaired += frames.filter(({ repairedBits }) => repairedBits > 0).length
    const total = (key: 'fcsRejected' | 'implausible') =>
      receivers.reduce((sum, receiver) => sum + receiver.counters[key], 0)
    counters.fcsRejected = total('fcsRejected')
    counters.implausible = total('implausible')
    return frames.toSorted((a, b) => a.lastSample - b.lastSample)
  }

  const asHeard = (frame: ReceivedFrame): ReceivedFrame => ({
    ...frame,
    firstSample: Math.max(0, frame.firstSample - mixture!.delaySamples),
    lastSample: Math.max(0, frame.lastSample - mixture!.delaySamples),
  })

  return {
    push: (blocks) =>
      merge(
        receivers.map((receiver, at) => receiver.push(blocks[at]!)),
        ofMixture?.push(mixture!.push(blocks)).map(asHeard),
      ),
    finish() {
      const rest = receivers.map(() => new Float32Array(mixture?.delaySamples ?? 0))
      const mixed = ofMixture && [...ofMixture.push(mixture!.push(rest)), ...ofMixture.finish()]
      return merge(
        receivers.map((receiver) => receiver.finish()),
        mixed?.map(asHeard),
      )
    },
    takeDamaged: () => receivers.flatMap((receiver) => receiver.takeDamaged()),
    get channelBusy() {
      return receivers.some((receiver) => receiver.channelBusy)
    },
    counters,
    contributions,
  }
}

/** Longer than a frame, and than a joint decision comes after it. */
const rememberS = 20

/** The same octets at overlapping times. */
const isSame = (a: ReceivedFrame, b: ReceivedFrame): boolean =>
  a.firstSample < b.lastSample &&
  b.firstSample < a.lastSample &&
  a.octets.length === b.octets.length &&
  a.octets.every((octet, at) => octet === b.octets[at])
