import { createDutyLedger, type DutyLimit, type KeyedSpan } from './dutyLedger.js'

/** Shortest piece of airtime that is looked for, of the smallest allowance. */
const pieceShare = 0.01

/**
 * The most that a radio under these limits can have sent up to now, as late as it can have: what must be taken for its past
 * where nothing is known of it. Every window that ends now is used up.
 *
 * The limits are the same with time turned round, so it is what one would send from now on, as early as each limit allows,
 * seen in a mirror.
 * @returns oldest first; empty where nothing limits
 */
export function fullestPast(limits: readonly DutyLimit[], nowMs: number): KeyedSpan[] {
  const limiting = limits.filter(({ share }) => share < 1)
  const longestWindowMs = Math.max(0, ...limiting.map(({ windowMs }) => windowMs))
  const ledger = createDutyLedger(limiting)
  const spans: KeyedSpan[] = []
  for (let agoMs = 0; limiting.length > 0; ) {
    const fromMs = ledger.earliestMs(agoMs, shortestPieceMs(limiting))
    if (fromMs === undefined || fromMs >= longestWindowMs) break
    agoMs = fromMs + ledger.longestMs(fromMs)
    ledger.note({ fromMs, toMs: agoMs })
    spans.unshift({ fromMs: nowMs - agoMs, toMs: nowMs - fromMs })
  }
  return spans
}

const shortestPieceMs = (limits: readonly DutyLimit[]): number =>
  pieceShare * Math.min(...limits.map(({ share, windowMs }) => share * windowMs))

/** What to tell whoever answers for the radio. @param why nothing is known, in words */
export function formatUnknownPast(why: string, limits: readonly DutyLimit[]): string {
  const ledger = createDutyLedger(limits, fullestPast(limits, 0))
  const waitS = Math.ceil((ledger.earliestMs(0, shortestPieceMs(limits)) ?? 0) / 1000)
  return `what was sent before this start is not known: ${why}; the duty limits begin as used up, and nothing is sent for at least ${waitS} s`
}
