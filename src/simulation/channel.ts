import type { Cancel, Clock } from '../runtime/clock.js'
import type { Random } from '../runtime/random.js'

/** What a station attaches to the channel. */
export interface Listener {
  readonly name: string
  /** a frame came through whole */
  heard(octets: Uint8Array): void
  /** carrier detect changed */
  busy(busy: boolean): void
}

export interface ChannelOptions {
  readonly clock: Clock
  readonly random: Random
  /** false where two stations do not hear each other; default everybody hears everybody */
  readonly hears?: (from: string, to: string) => boolean
  /** true where a receiver hears one sender through another: FM's capture of the stronger; default never */
  readonly captures?: (from: string, over: string, to: string) => boolean
  /** chance that a frame is lost on its way, 0 to 1 */
  readonly lossShare: (from: string, to: string) => number
  /** chance that a receiver hands over a frame twice */
  readonly duplicateShare?: number
  /** chance that a receiver hands over a frame late, after others */
  readonly lateShare?: number
}

/** When the frames of a transmission begin and end, in ms after its start. */
export interface FrameSpan {
  readonly octets: Uint8Array
  readonly fromMs: number
  readonly toMs: number
}

export interface ChannelCounters {
  transmissions: number
  /** frames put on the air */
  frames: number
  /** arrivals: a frame counts once for each station that could have heard it */
  delivered: number
  lost: number
  collided: number
  /** the receiver was sending itself */
  deaf: number
  duplicated: number
  late: number
  /** sum over all transmissions */
  keyedMs: number
}

/** One simulated frequency: half duplex, with carrier sense, collisions and losses. */
export interface Channel {
  attach(listener: Listener): { detach(): void }
  /** @returns what cuts it short: frames that have not ended by then are lost */
  transmit(from: string, durationMs: number, frames: readonly FrameSpan[]): Cancel
  readonly counters: Readonly<ChannelCounters>
}

/** Carrier detect takes so long to notice a signal, and its end (the receiver's own aim). */
const detectMs = 20
const lateMsMax = 6_000

interface OnAir {
  readonly from: string
  readonly startMs: number
  endMs: number
}

/** Every overlap of two signals that a station hears destroys both there, unless it captures one of them. */
export function createChannel(options: ChannelOptions): Channel {
  const { clock, random, lossShare, duplicateShare = 0, lateShare = 0 } = options
  const { hears = () => true, captures = () => false } = options
  const listeners = new Set<Listener>()
  // Lately ended ones too, as long as a frame that overlapped them may still end.
  let onAir: OnAir[] = []
  const counters = newCounters()

  const after = (ms: number, run: () => void): Cancel => clock.at(clock.monotonicMs() + ms, run)

  const updateBusy = (): void => {
    const senders = detectable()
    for (const listener of listeners) listener.busy(isBusyFor(listener.name, senders))
  }

  const detectable = (): readonly OnAir[] => {
    const nowMs = clock.monotonicMs()
    return onAir.filter(
      ({ startMs, endMs }) => nowMs >= startMs + detectMs && nowMs < endMs + detectMs,
    )
  }

  const isBusyFor = (name: string, senders: readonly OnAir[]): boolean =>
    senders.some(({ from }) => from !== name && hears(from, name))

  const deliver = (listener: Listener, octets: Uint8Array): void => {
    const give = (): void => {
      if (listeners.has(listener)) listener.heard(octets)
    }
    counters.delivered++
    if (random() < lateShare) {
      counters.late++
      after(500 + random() * lateMsMax, give)
    } else give()
    if (random() < duplicateShare) {
      counters.duplicated++
      after(200 + random() * lateMsMax, give)
    }
  }

  const arrive = (own: OnAir, frame: FrameSpan): void => {
    const fromMs = own.startMs + frame.fromMs
    const toMs = own.startMs + frame.toMs
    const others = onAir.filter(
      (other) => other !== own && other.startMs < toMs && other.endMs > fromMs,
    )
    for (const listener of [...listeners]) {
      const { name } = listener
      if (name === own.from || !hears(own.from, name)) continue
      if (others.some(({ from }) => from === name)) counters.deaf++
      else if (others.some(({ from }) => hears(from, name) && !captures(own.from, from, name)))
        counters.collided++
      else if (random() < lossShare(own.from, name)) counters.lost++
      else deliver(listener, frame.octets)
    }
  }

  return {
    counters,
    attach(listener) {
      listeners.add(listener)
      listener.busy(isBusyFor(listener.name, detectable()))
      return { detach: () => listeners.delete(listener) }
    },
    transmit(from, durationMs, frames) {
      const startMs = clock.monotonicMs()
      const own: OnAir = { from, startMs, endMs: startMs + durationMs }
      onAir = onAir.filter(({ endMs }) => endMs > startMs - 60_000)
      onAir.push(own)
      counters.transmissions++
      counters.frames += frames.length
      counters.keyedMs += durationMs
      const cancels = frames.map((frame) => after(frame.toMs, () => arrive(own, frame)))
      after(detectMs, updateBusy)
      let cancelEnd = after(durationMs + detectMs, updateBusy)
      return () => {
        const nowMs = clock.monotonicMs()
        if (nowMs >= own.endMs) return
        counters.keyedMs -= own.endMs - nowMs
        own.endMs = nowMs
        for (const cancel of cancels) cancel()
        cancelEnd()
        cancelEnd = after(detectMs, updateBusy)
      }
    },
  }
}

const newCounters = (): ChannelCounters => ({
  ...{ transmissions: 0, frames: 0, keyedMs: 0 },
  ...{ delivered: 0, lost: 0, collided: 0, deaf: 0, duplicated: 0, late: 0 },
})
