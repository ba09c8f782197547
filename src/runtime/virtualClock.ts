import type { Cancel, Clock } from './clock.js'

/** A clock that moves only when told to: tests, the demo and the simulation run on it. */
export interface VirtualClock extends Clock {
  /** Runs everything due up to `toMonotonicMs`, in order of time and then of booking, and stops there. */
  advanceTo(toMonotonicMs: number): void
  /** As advanceTo, `ms` from now. */
  advanceBy(ms: number): void
  /** As advanceTo, but lets promises settle after each call that fell due. */
  advanceToAsync(toMonotonicMs: number): Promise<void>
  /** Time of the next call, or undefined when nothing is booked. */
  nextAtMs(): number | undefined
}

interface Booking {
  readonly atMs: number
  readonly order: number
  /** undefined once cancelled: the heap drops it when it comes to the top */
  run: (() => void) | undefined
}

/**
 * @param startWallMs what wallMs says when monotonicMs is 0
 * @param runsMax calls that one advance may make before it is taken for a runaway timer
 */
export function virtualClock(
  startWallMs = Date.UTC(2026, 0, 1),
  runsMax = 10_000_000,
): VirtualClock {
  let nowMs = 0
  let order = 0
  // A binary heap by (time, order of booking): simulations book hundreds of thousands of calls.
  const heap: Booking[] = []

  const nextDue = (): Booking | undefined => {
    while (heap[0] !== undefined && heap[0].run === undefined) pop(heap)
    return heap[0]
  }

  const runNext = (toMs: number): boolean => {
    const due = nextDue()
    if (due === undefined || due.atMs > toMs) return false
    pop(heap)
    nowMs = Math.max(nowMs, due.atMs)
    due.run?.()
    return true
  }

  const guard = (): (() => void) => {
    let runs = 0
    return () => {
      if (++runs > runsMax)
        throw new RangeError(`virtual clock: more than ${runsMax} calls in one advance`)
    }
  }

  const checkForward = (toMs: number): void => {
    if (toMs < nowMs)
      throw new RangeError(`virtual clock: cannot go back from ${nowMs} to ${toMs} ms`)
  }

  return {
    monotonicMs: () => nowMs,
    wallMs: () => startWallMs + nowMs,
    at(atMonotonicMs, run): Cancel {
      if (Number.isNaN(atMonotonicMs))
        throw new RangeError('virtual clock: got NaN, expected a time')
      const booking: Booking = { atMs: Math.max(atMonotonicMs, nowMs), order: order++, run }
      push(heap, booking)
      return () => {
        booking.run = undefined
      }
    },
    advanceTo(toMs) {
      checkForward(toMs)
      const count = guard()
      while (runNext(toMs)) count()
      nowMs = toMs
    },
    advanceBy(ms) {
      this.advanceTo(nowMs + ms)
    },
    async advanceToAsync(toMs) {
      checkForward(toMs)
      const count = guard()
      await settle()
      while (runNext(toMs)) {
        count()
        await settle()
      }
      nowMs = toMs
    },
    nextAtMs: () => nextDue()?.atMs,
  }
}

/** Long enough for a chain of promises; real I/O must not be waited for this way. */
const settle = async (): Promise<void> => {
  for (let turn = 0; turn < 8; turn++) await Promise.resolve()
}

const before = (a: Booking, b: Booking): boolean =>
  a.atMs < b.atMs || (a.atMs === b.atMs && a.order < b.order)

function push(heap: Booking[], booking: Booking): void {
  let at = heap.length
  while (at > 0) {
    const parent = (at - 1) >> 1
    if (!before(booking, heap[parent]!)) break
    heap[at] = heap[parent]!
    at = parent
  }
  heap[at] = booking
}

function pop(heap: Booking[]): void {
  const last = heap.pop()!
  if (heap.length === 0) return
  let at = 0
  for (;;) {
    let child = 2 * at + 1
    if (child >= heap.length) break
    if (child + 1 < heap.length && before(heap[child + 1]!, heap[child]!)) child++
    if (!before(heap[child]!, last)) break
    heap[at] = heap[child]!
    at = child
  }
  heap[at] = last
}
