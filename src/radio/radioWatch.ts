import type { Cancel } from '../runtime/clock.js'
import type { DutyLimit, KeyedSpan } from './dutyLedger.js'
import type { Origin, Priority } from './port.js'

/** What somebody who looks at a radio wants besides readings, damaged frames, carrier and queue. */
export interface WatchWish {
  /** rows of the spectrum: they cost most */
  readonly spectrum: boolean
  /** the samples that the receiver gets */
  readonly audio: boolean
}

/** What a radio tells only while somebody looks. Times are of the wall clock. */
export type RadioReport =
  /** 144 steps from 0 to 4 kHz, an octet each: 0.5 dB steps from -127.5 dBFS */
  | { readonly kind: 'row'; readonly atWallMs: number; readonly levels: Uint8Array }
  | ({ readonly kind: 'reading'; readonly atWallMs: number } & RadioReading)
  | ({ readonly kind: 'damaged' } & DamagedReport)
  | { readonly kind: 'carrier'; readonly atWallMs: number; readonly busy: boolean }
  | { readonly kind: 'queue'; readonly atWallMs: number; readonly items: readonly QueueReport[] }
  /** mono, 12 kHz */
  | { readonly kind: 'audio'; readonly samples: Int16Array }

/** Of the last second, and since the radio's start. */
export interface RadioReading {
  readonly rmsDbfs: number
  readonly peakDbfs: number
  /** share of the samples at the converter's limits, 0 to 1 */
  readonly clippedShare: number
  readonly readCount: number
  /** of those, frames that needed repair */
  readonly repairedCount: number
  readonly damagedCount: number
}

export interface DamagedReport {
  readonly fromWallMs: number
  readonly toWallMs: number
  readonly levelDbfs: number
  readonly toneBalanceDb: number
  /** why it was lost, in words, where that is known */
  readonly cause?: string | undefined
  /** the same without figures, one a cause: to be counted */
  readonly causeKinds?: readonly string[] | undefined
}

/** A frame or a tone that waits in the radio's own queue. */
export interface QueueReport {
  readonly id: string
  readonly priority: Priority
  readonly origin: Origin
  readonly ageMs: number
  /** until it expires */
  readonly leftMs: number
  readonly heldFor?: string | undefined
  /** without FCS; absent for a tone */
  readonly octets?: Uint8Array | undefined
}

/** What the limits of a radio count, and the identification that it owes. Times are monotonic. */
export interface DutyReport {
  readonly limits: readonly DutyLimit[]
  /** finished transmissions that still count, oldest first */
  readonly spans: readonly KeyedSpan[]
  readonly owedSinceMs?: number | undefined
}

/** Those who look at one radio. */
export interface Watchers {
  /** @param wish undefined: hears what is told to others, and asks for nothing itself */
  add(wish: WatchWish | undefined, listener: (report: RadioReport) => void): Cancel
  tell(report: RadioReport): void
  /** what they want together; undefined where nobody looks */
  readonly wish: WatchWish | undefined
}

/** @param onChange told when the wish has become another */
export function createWatchers(onChange: (wish: WatchWish | undefined) => void): Watchers {
  const all = new Map<
    object,
    { wish: WatchWish | undefined; listener: (report: RadioReport) => void }
  >()
  let wish: WatchWish | undefined
  const look = (): void => {
    const wishes = [...all.values()].flatMap((one) => one.wish ?? [])
    const next =
      wishes.length === 0
        ? undefined
        : { spectrum: wishes.some((one) => one.spectrum), audio: wishes.some((one) => one.audio) }
    if (next?.spectrum === wish?.spectrum && next?.audio === wish?.audio) return
    wish = next
    onChange(wish)
  }
  return {
    add(wanted, listener) {
      const key = {}
      all.set(key, { wish: wanted, listener })
      look()
      return () => {
        all.delete(key)
        look()
      }
    },
    tell(report) {
      for (const { wish: wanted, listener } of all.values()) {
        if (report.kind === 'row' && !wanted?.spectrum) continue
        if (report.kind === 'audio' && !wanted?.audio) continue
        listener(report)
      }
    },
    get wish() {
      return wish
    },
  }
}
