import type { Clock } from '../runtime/clock.js'
import type { Failure } from '../runtime/failure.js'
import type { EdgeLog } from './edgeLog.js'
import type { PttOutput } from './pttOutput.js'

/** A transmitter's key line as a radio uses it. Not ready until it says so. */
export interface KeyLine {
  readonly name: string
  /** Drives the line to unkeyed; the listener hears when it is ready, or why it is not. */
  open(listener: KeyLineListener): void
  /** @returns when the line came on (monotonicMs); rejects with a Failure when it did not */
  key(): Promise<number>
  /** @returns when the line went off; does not settle before that is certain */
  unkey(): Promise<number>
  /** Unkeys, then lets go of everything. */
  close(): Promise<void>
}

export interface KeyLineListener {
  onReady(): void
  /** the line went off though nobody asked */
  onCut(atMs: number, reason: string): void
  /** it cannot be used until the next onReady; it tries by itself */
  onLost(failure: Failure): void
  /** something went wrong that it goes on with */
  onFault(reason: string): void
}

/** An output without a guard: for a clock that is not the machine's, and where there is no line to guard. */
export function directLine(output: PttOutput, clock: Clock, log?: EdgeLog): KeyLine {
  let on = false
  const unkey = async (): Promise<number> => {
    await output.unkey()
    if (on) log?.write('unkeyed')
    on = false
    return clock.monotonicMs()
  }
  return {
    name: output.name,
    open: (listener) => listener.onReady(),
    async key() {
      on = true
      await output.key()
      log?.write('keyed')
      return clock.monotonicMs()
    },
    unkey,
    async close() {
      await unkey()
      await output.close()
      log?.close()
    },
  }
}
