import type { Cancel, Clock } from '../runtime/clock.js'

/** Notices that a connection brings nothing any more. */
export interface StallWatch {
  /** Begins anew. @param onStall called once, when nothing came for too long */
  begin(onStall: () => void): void
  /** Something came. */
  came(nowMs: number): void
  stop(): void
}

const graceMs = 200

/** @param afterMs nothing for so long is a stall; never, where undefined */
export function stallWatch(clock: Clock, afterMs: number | undefined): StallWatch {
  let cameMs = 0
  let cancel: Cancel = () => {}
  return {
    begin(onStall) {
      cancel()
      if (afterMs === undefined) return
      /** Looks once in a while: a timer for each block would cost more than the block. */
      const look = (): void => {
        const isDue = clock.monotonicMs() >= cameMs + afterMs
        // After a stall of our own the alarm rings before the audio that waits in the pipe is read: give it a moment.
        cancel = isDue
          ? clock.at(clock.monotonicMs() + graceMs, judge)
          : clock.at(cameMs + afterMs, look)
      }
      const judge = (): void => {
        if (clock.monotonicMs() >= cameMs + afterMs) onStall()
        else look()
      }
      cameMs = clock.monotonicMs()
      look()
    },
    came(nowMs) {
      cameMs = nowMs
    },
    stop: () => cancel(),
  }
}
