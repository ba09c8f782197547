import type { Random } from '../runtime/random.js'

/** p-persistence: when to begin on a shared channel. */
export interface Persistence {
  /**
   * Asks once; call it again at nextAtMs, or when the channel changes.
   * @returns true when the channel is ours now
   */
  ask(
    nowMs: number,
    channelBusy: boolean,
    access: { slotTimeMs: number; persistence: number },
  ): boolean
  /** when a running wait ends; long past when none is running */
  nextAtMs(): number
  /** No draw before that moment, also after a reset. */
  waitUntil(atMs: number): void
  /** Forgets a running wait: there is nothing to send any more. */
  reset(): void
}

/** One unit of SlotTime: a draw that was lost is followed by another, never by none, and never by an endless row of them. */
const slotTimeMsMin = 10

/**
 * Wait until carrier detect is inactive; draw r from 0 to 255; begin if r <= P; otherwise wait SlotTime, look at carrier
 * detect again, and repeat.
 * @see Chepponis and Karn, The KISS TNC, 1987, section 6; the integer form follows from P = p * 256 - 1 of section 4
 */
export function createPersistence(random: Random): Persistence {
  let slotEndMs: number | undefined
  let notBeforeMs = Number.NEGATIVE_INFINITY
  return {
    ask(nowMs, channelBusy, access) {
      if (nowMs < notBeforeMs || (slotEndMs !== undefined && nowMs < slotEndMs)) return false
      slotEndMs = undefined
      if (channelBusy) return false
      if (Math.floor(random() * 256) <= access.persistence) return true
      slotEndMs = nowMs + Math.max(access.slotTimeMs, slotTimeMsMin)
      return false
    },
    nextAtMs: () => Math.max(notBeforeMs, slotEndMs ?? notBeforeMs),
    waitUntil(atMs) {
      notBeforeMs = atMs
    },
    reset() {
      slotEndMs = undefined
    },
  }
}
