import { createReopening } from '../devices/reopening.js'
import type { Cancel, Clock } from '../runtime/clock.js'

/** A two-way stream of octets to a device or another program. */
export interface OctetStream {
  write(octets: Uint8Array): void
  /** octets written that the other side has not taken yet */
  waitingOctets(): number
  /** Ends it; onClosed may or may not follow. */
  close(): void
}

export interface StreamHandlers {
  /** the other side is there: octets may be written from now on */
  onOpen(): void
  onOctets(chunk: Uint8Array): void
  /** it failed to open, broke, or ended; the last call */
  onClosed(reason: string): void
}

/** Starts to open a stream; calls the handlers later, never at once, and never throws. */
export type OpenStream = (handlers: StreamHandlers) => OctetStream

export interface KeptOpenOptions {
  readonly open: OpenStream
  readonly clock: Clock
  readonly handlers: StreamHandlers
  /** wait before the first new attempt, ms; doubles up to delayMsMax */
  readonly delayMs: number
  readonly delayMsMax: number
  /** a stream that stayed open for this long was sound: the next wait starts small again; 10 s unless given */
  readonly soundMs?: number
  /** an attempt that takes longer is given up, ms; undefined waits for ever */
  readonly openMsMax?: number
}

export interface KeptOpen {
  /** undefined while it is not open */
  readonly stream: OctetStream | undefined
  readonly counters: Readonly<{ opened: number; failed: number; lost: number }>
  /** when the next attempt comes, monotonicMs; undefined while one is under way or the stream is open */
  readonly nextAttemptMs: number | undefined
  /** Gives the open stream up, as if it had been lost for that reason. */
  drop(reason: string): void
  close(): void
}

/** Opens a stream, and opens it anew with growing waits whenever it could not be had or was lost. */
export function keepOpen(options: KeptOpenOptions): KeptOpen {
  const { clock, handlers, soundMs = 10_000 } = options
  const counters = { opened: 0, failed: 0, lost: 0 }
  let stream: OctetStream | undefined
  let openedAtMs: number | undefined
  let cancel: Cancel = () => {}
  let closed = false
  let endOpen: (reason: string) => void = () => {}

  const attempt = (): void => {
    let over = false
    const end = (reason: string): void => {
      if (over) return
      over = true
      if (closed) return
      cancel()
      const sound = openedAtMs !== undefined && clock.monotonicMs() - openedAtMs >= soundMs
      if (openedAtMs === undefined) counters.failed++
      else counters.lost++
      stream = undefined
      openedAtMs = undefined
      if (sound) reopening.sound()
      reopening.later()
      handlers.onClosed(reason)
    }
    stream = options.open({
      onOpen() {
        if (over || closed) return
        cancel()
        openedAtMs = clock.monotonicMs()
        counters.opened++
        handlers.onOpen()
      },
      onOctets: (chunk) => {
        if (!over && !closed) handlers.onOctets(chunk)
      },
      onClosed: end,
    })
    const attempted = stream
    endOpen = (reason) => {
      attempted.close()
      end(reason)
    }
    if (options.openMsMax === undefined) return
    cancel = clock.at(clock.monotonicMs() + options.openMsMax, () => {
      endOpen(`no answer within ${options.openMsMax} ms`)
    })
  }

  const reopening = createReopening(
    clock,
    { first: options.delayMs, longest: options.delayMsMax },
    attempt,
  )
  attempt()
  return {
    get stream() {
      return openedAtMs === undefined ? undefined : stream
    },
    counters,
    get nextAttemptMs() {
      return reopening.atMs
    },
    drop(reason) {
      if (openedAtMs !== undefined) endOpen(reason)
    },
    close() {
      closed = true
      cancel()
      reopening.cancel()
      stream?.close()
      stream = undefined
      openedAtMs = undefined
    },
  }
}
