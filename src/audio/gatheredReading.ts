import { readSync } from 'node:fs'
import type { Readable } from 'node:stream'
import type { Cancel, Clock } from '../runtime/clock.js'

/** A stream whose octets may be fetched in fewer, longer pieces. */
export interface GatheredReading {
  /** From now on it is read so seldom; 0: whenever something is there, beginning with what is there now. */
  gather(ms: number): void
  /** Nothing more is told; the stream is its owner's. */
  close(): void
}

/**
 * Each piece of audio that wakes the thread costs more than its decoding: 20 ms at a time, live reception took three times what
 * a recording does. What is not fetched yet waits in the kernel, which holds a second.
 *
 * A paused stream of Node goes on reading until its buffer is full, and cannot be told otherwise, so reading is stopped at
 * the handle below it, as Node's own sockets do, and from then on each piece is read off the descriptor. The handle is started
 * again only for what the stream must deal with: more than a piece, nothing there, an end, an error. To start and stop it for each
 * piece woke the thread once more each time, by the audio that came next. Where there is no handle (a file), pieces come as
 * they come.
 * @param onOctets what is read; it must keep none of them
 */
export function gatheredReading(
  stream: Readable,
  clock: Clock,
  onOctets: (octets: Uint8Array) => void,
): GatheredReading {
  let everyMs = 0
  let stopped = false
  let cancel: Cancel = () => {}
  let piece: Uint8Array | undefined
  const goOn = (): void => {
    cancel()
    if (!stopped) return
    stopped = false
    handleOf(stream)?.readStart()
  }
  const book = (): void => {
    cancel = clock.at(clock.monotonicMs() + everyMs, fetch)
  }
  const fetch = (): void => {
    piece ??= new Uint8Array(pieceOctetsMax)
    const count = readNow(handleOf(stream), piece)
    if (count > 0) onOctets(piece.subarray(0, count))
    // Whoever took it may have wanted the rest at once, or have closed.
    if (!stopped) return
    if (count === 0 || count === pieceOctetsMax) goOn()
    else book()
  }
  const take = (octets: Uint8Array): void => {
    onOctets(octets)
    // As much as is fetched at a time: more is there.
    if (everyMs === 0 || stopped || octets.length >= pieceOctetsMax) return
    const handle = handleOf(stream)
    if (handle === undefined) return
    stopped = handle.readStop() === 0
    if (stopped) book()
  }
  stream.on('data', take)
  return {
    gather(ms) {
      everyMs = ms
      if (ms === 0) goOn()
    },
    close() {
      everyMs = 0
      stopped = false
      cancel()
      stream.off('data', take)
    },
  }
}

/** What Node reads at a time. */
const pieceOctetsMax = 65_536

/** @returns how many octets; 0 where the stream has to look for itself */
function readNow(handle: Handle | undefined, into: Uint8Array): number {
  if (handle === undefined) return 0
  try {
    return readSync(handle.fd, into, 0, into.length, null)
  } catch {
    return 0
  }
}

interface Handle {
  readonly fd: number
  /** both return 0, or a system error's number */
  readStart(): number
  readStop(): number
}

function handleOf(stream: Readable): Handle | undefined {
  // The stream lets go of it before it is closed: its number may be another file's then.
  const { _handle: handle } = stream as { _handle?: Partial<Handle> | null }
  return handle?.readStart === undefined ||
    handle.readStop === undefined ||
    !((handle.fd ?? -1) >= 0)
    ? undefined
    : (handle as Handle)
}
