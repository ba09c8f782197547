import { createReopening, type Waits } from '../devices/reopening.js'
import type { Clock } from '../runtime/clock.js'
import type { Failure } from '../runtime/failure.js'
import type {
  AudioListener,
  AudioSource,
  AudioSourceCounters,
  PcmLayout,
  SampleFormat,
} from './audioDevice.js'
import { createChannelDecoder } from './rawPcm.js'
import { stallWatch } from './stallWatch.js'

/** What a connection to a device, process or socket tells. After onLost or onEnd it says nothing more. */
export interface FeedEvents {
  /** They are the feed's: none is kept. */
  onOctets(octets: Uint8Array): void
  /** audio was lost because it was read too late */
  onOverrun(): void
  /** the connection broke or never came up; it is opened anew after a while */
  onLost(failure: Failure): void
  /** the audio has ended for good */
  onEnd(): void
}

/** One attempt at a connection; close() is called once, also after onLost. */
export interface Feed {
  /** as AudioSource.gather */
  gather?(ms: number): void
  close(): Promise<void>
}

export interface LiveSourceOptions extends PcmLayout {
  readonly name: string
  readonly sampleFormat: SampleFormat
  /** which of the interleaved channels is used; 0 is the first, left one */
  readonly channel: number
  readonly clock: Clock
  connect(events: FeedEvents): Feed
  /** what to call it when a connection brings nothing for this long; never, when left out */
  readonly stall?: { readonly afterMs: number; failure(): Failure }
}

/** Waits before a connection is opened anew: 0.5 s, doubled each time, 30 s at most. */
export const retryMs: Waits = { first: 500, longest: 30_000 }
/** A connection that brought audio for this long is a good one: the waits begin anew after it. */
const goodAfterMs = 10_000

/**
 * A source that outlives its device: when the connection breaks it waits, with a growing back-off, and opens it anew.
 * Samples are counted as they come: a gap shows in `restarts`, not in the sample count.
 */
export function createLiveSource(options: LiveSourceOptions): AudioSource {
  const { clock, connect, stall } = options
  const decoder = createChannelDecoder(options.sampleFormat, options.channel, options.channelCount)
  const counters: AudioSourceCounters = { samples: 0, overruns: 0, restarts: 0, faults: 0 }
  let listener: AudioListener | undefined
  let feed: Feed | undefined
  let isClosed = false
  let toldFault: string | undefined
  const stalls = stallWatch(clock, stall?.afterMs)
  let gatherMs = 0

  const attempt = (): void => {
    let isOver = false
    let firstOctetsMs: number | undefined
    decoder.reset()
    const end = (): boolean => {
      if (isOver || isClosed) return false
      isOver = true
      stalls.stop()
      return true
    }
    const lost = (failure: Failure): void => {
      if (!end()) return
      counters.faults++
      if (failure.message !== toldFault) listener?.onFault(failure)
      toldFault = failure.message
      void feed?.close()
      reopening.later()
    }
    stalls.begin(() => lost(stall!.failure()))
    feed = connect({
      onOctets(octets) {
        if (isOver || isClosed) return
        const nowMs = clock.monotonicMs()
        stalls.came(nowMs)
        firstOctetsMs ??= nowMs
        if (nowMs - firstOctetsMs >= goodAfterMs) {
          reopening.sound()
          toldFault = undefined
        }
        const block = decoder.push(octets)
        if (block.length === 0) return
        counters.samples += block.length
        listener?.onBlock(block)
      },
      onOverrun() {
        counters.overruns++
      },
      onLost: lost,
      onEnd() {
        if (end()) listener?.onEnd()
      },
    })
    if (gatherMs > 0) feed.gather?.(gatherMs)
  }

  const reopening = createReopening(clock, retryMs, () => {
    counters.restarts++
    attempt()
  })

  return {
    name: options.name,
    sampleRateHz: options.sampleRateHz,
    counters,
    open(newListener) {
      if (listener !== undefined) throw new RangeError(`${options.name}: opened twice`)
      listener = newListener
      if (!isClosed) attempt()
    },
    gather(ms) {
      if (ms === gatherMs) return
      gatherMs = ms
      feed?.gather?.(ms)
    },
    async close() {
      isClosed = true
      reopening.cancel()
      stalls.stop()
      await feed?.close()
    },
  }
}
