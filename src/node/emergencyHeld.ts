import type { Cancel, Clock } from '../runtime/clock.js'
import { setNewest } from '../runtime/setNewest.js'

/** Calls for help that were heard while their radio was held: each is answered once, when it may send again in time. */
export interface HeldCalls {
  /** @param notAfterMs monotonic; after that nobody waits for an answer */
  keep(station: string, radio: number, notAfterMs: number): void
  stop(): void
}

interface HeldCall {
  readonly radio: number
  readonly notAfterMs: number
}

const lookEveryMs = 5_000
/** Forged calls fill no memory. */
const stationsMax = 100

export function heldCalls(parts: {
  readonly clock: Clock
  readonly isHeld: (radio: number) => boolean
  readonly answer: (station: string, call: HeldCall) => void
}): HeldCalls {
  const { clock } = parts
  const waiting = new Map<string, HeldCall>()
  let cancel: Cancel | undefined

  const book = (): void => {
    if (waiting.size > 0) cancel ??= clock.at(clock.monotonicMs() + lookEveryMs, look)
  }
  const look = (): void => {
    cancel = undefined
    for (const [station, call] of [...waiting]) {
      const isOver = clock.monotonicMs() >= call.notAfterMs
      if (!isOver && parts.isHeld(call.radio)) continue
      // first: whatever comes of it, it is answered once
      waiting.delete(station)
      if (!isOver) parts.answer(station, call)
    }
    book()
  }

  return {
    keep(station, radio, notAfterMs) {
      setNewest(waiting, station, { radio, notAfterMs }, stationsMax)
      book()
    },
    stop() {
      cancel?.()
      cancel = undefined
      waiting.clear()
    },
  }
}
