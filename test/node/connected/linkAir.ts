import type { LinkCarrier } from '../../../src/node/connected/peerLink.js'
import type { Random } from '../../../src/runtime/random.js'
import type { VirtualClock } from '../../../src/runtime/virtualClock.js'

export interface AirOptions {
  readonly clock: VirtualClock
  readonly random: Random
  /** share of frames that the other does not hear */
  readonly loss: number
  /** share of frames that are heard twice, and that change places with the one before */
  readonly duplicates?: number
  readonly reordered?: number
  readonly keyDelayMs?: number
}

/** Frames of all radios on one channel, at 1200 bit/s, half duplex: who begins in another's slot is not heard by him. */
export interface LinkAir {
  /** @param hear takes what the others send */
  attach(hear: (octets: Uint8Array) => void): LinkCarrier
  /** time of the key lines, ms */
  readonly airtimeMs: number
  readonly frameCount: number
}

interface Queued {
  readonly octets: Uint8Array
  readonly urgent: boolean
  readonly onEnd: () => void
  taken: boolean
}

interface Radio {
  readonly hear: (octets: Uint8Array) => void
  queue: Queued[]
  waiting: boolean
  sendsUntilMs: number
}

const slotMs = 100
const transmissionMsMax = 6000
/** Flags, check sequence, stuffed bits. */
const frameMs = (octets: Uint8Array): number => ((octets.length + 4) * 8 * 1.03 * 1000) / 1200

export function linkAir(options: AirOptions): LinkAir {
  const { clock, random, loss, duplicates = 0, reordered = 0, keyDelayMs = 300 } = options
  const radios: Radio[] = []
  let airtimeMs = 0
  let frameCount = 0

  const isBusy = (): boolean => {
    // A carrier is noticed some 30 ms after it begins.
    return radios.some(({ sendsUntilMs }) => sendsUntilMs > clock.monotonicMs())
  }

  const arriving = (frames: readonly Uint8Array[]): Uint8Array[] => {
    const heard: Uint8Array[] = []
    for (const frame of frames) {
      if (random() < loss) continue
      heard.push(frame)
      if (random() < duplicates) heard.push(frame)
    }
    for (let at = 1; at < heard.length; at++)
      if (random() < reordered) [heard[at - 1], heard[at]] = [heard[at]!, heard[at - 1]!]
    return heard
  }

  const transmit = (radio: Radio): void => {
    radio.queue = radio.queue.filter(({ taken }) => !taken)
    const sorted = [
      ...radio.queue.filter((one) => one.urgent),
      ...radio.queue.filter((one) => !one.urgent),
    ]
    let ms = keyDelayMs
    const frames: Queued[] = []
    for (const frame of sorted) {
      const longer = ms + frameMs(frame.octets)
      if (frames.length > 0 && longer > transmissionMsMax) break
      frames.push(frame)
      ms = longer
    }
    radio.queue = radio.queue.filter((one) => !frames.includes(one))
    airtimeMs += ms
    frameCount += frames.length
    radio.sendsUntilMs = clock.monotonicMs() + ms
    const collides = radios.some((one) => one !== radio && one.sendsUntilMs > clock.monotonicMs())
    let atMs = keyDelayMs
    const heard = collides ? [] : arriving(frames.map(({ octets }) => octets))
    for (const octets of heard) {
      atMs = Math.min(ms, atMs + frameMs(octets))
      clock.at(clock.monotonicMs() + atMs + 30, () => {
        for (const other of radios)
          if (other !== radio && other.sendsUntilMs < clock.monotonicMs()) other.hear(octets)
      })
    }
    clock.at(radio.sendsUntilMs, () => {
      for (const { onEnd } of frames) onEnd()
      radio.waiting = false
      contend(radio)
    })
  }

  const contend = (radio: Radio): void => {
    if (radio.waiting || radio.queue.every(({ taken }) => taken)) return
    radio.waiting = true
    const look = (): void => {
      if (radio.queue.every(({ taken }) => taken)) radio.waiting = false
      else if (!isBusy() && random() < 0.25) transmit(radio)
      else clock.at(clock.monotonicMs() + slotMs, look)
    }
    clock.at(clock.monotonicMs() + slotMs, look)
  }

  return {
    attach(hear) {
      const radio: Radio = { hear, queue: [], waiting: false, sendsUntilMs: -1 }
      radios.push(radio)
      return {
        channelBusy: isBusy,
        send(octets, urgent, onEnd) {
          const queued = { octets, urgent, onEnd, taken: false }
          radio.queue.push(queued)
          contend(radio)
          return () => {
            queued.taken = true
          }
        },
      }
    },
    get airtimeMs() {
      return airtimeMs
    },
    get frameCount() {
      return frameCount
    },
  }
}
