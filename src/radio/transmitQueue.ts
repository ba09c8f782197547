import { type Origin, type Priority, priorities } from './port.js'
import type { Tone } from './radioPort.js'

/** A request that waits for its turn. */
export interface Waiting {
  readonly id: string
  readonly priority: Priority
  readonly notAfterMs: number
  readonly origin: Origin
  /** when it came */
  readonly sinceMs: number
  readonly content:
    | { readonly kind: 'frame'; readonly octets: Uint8Array; readonly identifies: boolean }
    | {
        readonly kind: 'tone'
        readonly tone: Tone
        readonly durationMs: number
        readonly gapMs?: number | undefined
      }
  /** for what it has been told that it is held, if it is */
  heldFor?: string | undefined
}

/** In order of urgency, then of arrival; with a limit. */
export interface TransmitQueue {
  readonly items: readonly Waiting[]
  /**
   * @returns what found no room: the new one, or, when the queue is full of less urgent ones, the last of these
   */
  add(item: Waiting): Waiting | undefined
  /** Takes out those whose time is over. */
  takeExpired(nowMs: number): Waiting[]
  /** Takes one out, if it is there. */
  take(id: string): Waiting | undefined
  /** Takes out these. */
  remove(items: readonly Waiting[]): void
  /** The next moment at which one expires. */
  nextExpiryMs(): number | undefined
}

export function createTransmitQueue(itemsMax: number): TransmitQueue {
  let items: Waiting[] = []
  return {
    get items() {
      return items
    },
    add(item) {
      const last = items.at(-1)
      let displaced: Waiting | undefined
      if (items.length >= itemsMax) {
        if (last === undefined || urgency(last) <= urgency(item)) return item
        displaced = items.pop()
      }
      let at = items.length
      while (at > 0 && urgency(items[at - 1]!) > urgency(item)) at--
      items.splice(at, 0, item)
      return displaced
    },
    takeExpired(nowMs) {
      const expired = items.filter((item) => item.notAfterMs <= nowMs)
      if (expired.length > 0) items = items.filter((item) => item.notAfterMs > nowMs)
      return expired
    },
    take(id) {
      const taken = items.find((item) => item.id === id)
      if (taken !== undefined) items = items.filter((item) => item !== taken)
      return taken
    },
    remove(gone) {
      items = items.filter((item) => !gone.includes(item))
    },
    nextExpiryMs() {
      let next: number | undefined
      for (const item of items) next = Math.min(next ?? item.notAfterMs, item.notAfterMs)
      return next
    },
  }
}

const urgency = (item: Waiting): number => priorities.indexOf(item.priority)

const firstAfterReserve = priorities.indexOf('emergency') + 1

/** Acknowledgements and emergencies have a reserve of the duty limit; all others leave it. */
export const leavesReserve = (priority: Priority): boolean =>
  priorities.indexOf(priority) >= firstAfterReserve
