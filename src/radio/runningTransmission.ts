import type { Waiting } from './transmitQueue.js'

/** One transmission, from the command to key until the line is unkeyed. */
export interface RunningTransmission {
  /** empty for an identification */
  readonly items: readonly Waiting[]
  /** our call goes out with it, and nothing without it after */
  readonly identifies: boolean
  readonly keyAtMs: number
  /** the line must be unkeyed by then */
  readonly cutAtMs: number
  readonly cutReason: string
  /** hanging: the line is off, and the transmitter stays on by itself */
  phase: 'keying' | 'sending' | 'unkeying' | 'hanging'
  keyedAtMs?: number
  cutBy?: string
  /** when it was first decided that the line goes off */
  endsSinceMs: number
  unkeyAgainAtMs: number
  unkeyWaitMs: number
  /** when the transmitter is off, once the line is */
  offAtMs: number
}

/** A line that does not answer is asked again after that long, doubled each time up to the limit. */
const unkeyAgainMs = { first: 250, max: 8000 }
/** A line that has not come on by then is given up. */
const keyWaitMs = 1000

/** @param keyedMsMax what time-out timer and duty limits leave of it */
export function beginTransmission(
  items: readonly Waiting[],
  nowMs: number,
  keyedMsMax: number,
  options: {
    readonly timeOutMs: number
    readonly unkeyMarginMs: number
    readonly hangMs?: number | undefined
  },
): RunningTransmission {
  return {
    items,
    identifies: items.length === 0 || endsWithOurCall(items.at(-1)?.content),
    keyAtMs: nowMs,
    cutAtMs: nowMs + keyedMsMax - options.unkeyMarginMs - (options.hangMs ?? 0),
    cutReason: cutReason(items, keyedMsMax, options.timeOutMs),
    phase: 'keying',
    endsSinceMs: Number.NEGATIVE_INFINITY,
    unkeyAgainAtMs: Number.POSITIVE_INFINITY,
    unkeyWaitMs: unkeyAgainMs.first,
    offAtMs: Number.POSITIVE_INFINITY,
  }
}

function cutReason(items: readonly Waiting[], keyedMsMax: number, timeOutMs: number): string {
  if (keyedMsMax >= timeOutMs) return `the time-out timer (${timeOutMs} ms) ended it`
  return items.length === 0 ? 'an identification takes no longer' : 'the duty limit ended it'
}

const endsWithOurCall = (content: Waiting['content'] | undefined): boolean =>
  content?.kind === 'frame' ? content.identifies : content?.tone === 'flags'

/** When it is cut, unless something happens before: at its limit, or when the line has not come on. */
export function deadlineMs({ phase, cutAtMs, keyAtMs }: RunningTransmission): number {
  return phase === 'sending' ? cutAtMs : Math.min(cutAtMs, keyAtMs + keyWaitMs)
}

/** Why it is cut at its deadline. */
export function abortReason({ cutAtMs, cutReason }: RunningTransmission, nowMs: number): string {
  return nowMs < cutAtMs ? 'the key line did not come on' : cutReason
}

/** Unkey is commanded, now or again. */
export function beginUnkeying(running: RunningTransmission, nowMs: number): void {
  if (running.phase !== 'unkeying') running.endsSinceMs = nowMs
  running.phase = 'unkeying'
  running.unkeyAgainAtMs = nowMs + running.unkeyWaitMs
  running.unkeyWaitMs = Math.min(2 * running.unkeyWaitMs, unkeyAgainMs.max)
}

/** The time that the line was on, shared by what was sent in it. */
export function airtimesMs(totalMs: number, weights: readonly number[]): number[] {
  const sum = weights.reduce((total, weight) => total + weight, 0)
  return weights.map((weight) => (totalMs * weight) / sum)
}
