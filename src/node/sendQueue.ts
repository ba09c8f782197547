import { type Priority, priorities } from '../radio/port.js'

/** A frame that waits for its turn on a radio. */
export interface QueuedFrame {
  readonly id: string
  readonly priority: Priority
  /** within its priority: a lower one goes first, then who came first; below 0 what goes on with something begun */
  readonly turn: number
  /** when it came; monotonic, like all times here */
  readonly sinceMs: number
  readonly notAfterMs: number
  readonly octets: Uint8Array
  /** octets of what follows it without waiting: the other parts of its answer */
  readonly followingOctets: number
}

/** Frames for one radio, in the order in which they go out. */
export interface SendQueue<Frame extends QueuedFrame> {
  readonly items: readonly Frame[]
  /** @returns what found no room: the last in order */
  add(frame: Frame): Frame | undefined
  /** Takes one out, if it is there. */
  take(id: string): Frame | undefined
  takeExpired(nowMs: number): Frame[]
}

/** @param itemsMax frames that may wait */
export function sendQueue<Frame extends QueuedFrame>(itemsMax: number): SendQueue<Frame> {
  let items: Frame[] = []
  return {
    get items() {
      return items
    },
    add(frame) {
      let at = items.length
      while (at > 0 && goesBefore(frame, items[at - 1]!)) at--
      items.splice(at, 0, frame)
      return items.length > itemsMax ? items.pop() : undefined
    },
    take(id) {
      const taken = items.find((frame) => frame.id === id)
      if (taken !== undefined) items = items.filter((frame) => frame !== taken)
      return taken
    },
    takeExpired(nowMs) {
      const expired = items.filter(({ notAfterMs }) => notAfterMs <= nowMs)
      if (expired.length > 0) items = items.filter(({ notAfterMs }) => notAfterMs > nowMs)
      return expired
    },
  }
}

const rank = ({ priority }: QueuedFrame): number => priorities.indexOf(priority)

const goesBefore = (a: QueuedFrame, b: QueuedFrame): boolean =>
  rank(a) < rank(b) || (rank(a) === rank(b) && a.turn < b.turn)
