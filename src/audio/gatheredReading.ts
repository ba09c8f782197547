import type { Readable } from 'node:stream'
import type { Cancel, Clock } from '../runtime/clock.js'

/** A stream whose octets may be fetched in fewer, longer pieces. */
export interface GatheredReading {
  /** From now on it is read so seldom; 0: whenever something is there, beginning with what is there now. */
  gather(ms: number): void
  /** No more timers; the stream is its owner's. */
  close(): void
}

/**
 * Each piece of audio that wakes the thread costs more than its decoding: 20 ms at a time, live reception took three times what
 * a recording does. What is not fetched yet waits in the kernel, which holds a second.
 *
 * A paused stream of Node goes on reading until its buffer is full, and cannot be told otherwise, so reading is stopped at
 * the handle below it, as Node's own sockets do. Where there is none (a file), pieces come as they come.
 */
export function gatheredReading(stream: Readable, clock: Clock): GatheredReading {
  let everyMs = 0
  let stopped = false
  let cancel: Cancel = () => {}
  const goOn = (): void => {
    cancel()
    if (!stopped) return
    stopped = false
    handleOf(stream)?.readStart()
  }
  stream.on('data', (octets: Uint8Array) => {
    // As much as is fetched at a time: more is there.
    if (everyMs === 0 || stopped || octets.length >= pieceOctetsMax) return
    const handle = handleOf(stream)
    if (handle === undefined) return
    stopped = handle.readStop() === 0
    if (stopped) cancel = clock.at(clock.monotonicMs() + everyMs, goOn)
  })
  return {
    gather(ms) {
      everyMs = ms
      if (ms === 0) goOn()
    },
    close() {
      everyMs = 0
      cancel()
    },
  }
}

/** What Node reads at a time. */
const pieceOctetsMax = 65_536

interface Handle {
  /** both return 0, or a system error's number */
  readStart(): number
  readStop(): number
}

function handleOf(stream: Readable): Handle | undefined {
  const { _handle: handle } = stream as { _handle?: Partial<Handle> | null }
  return handle?.readStart === undefined || handle.readStop === undefined
    ? undefined
    : (handle as Handle)
}
