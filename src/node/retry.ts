import type { Random } from '../runtime/random.js'
import type { MessageKind } from '../store/messages.js'

export interface RetryOptions {
  readonly gapsMs: readonly number[]
  /** 0 to 0.5 */
  readonly jitter: number
}

/** Where nothing is repeated, an acknowledgement may still come within this. */
const onlyGapMs = 30_000

/**
 * How long to wait for an acknowledgement after a transmission.
 * @param attempts transmissions made, 1 or more
 * @returns the wait, and whether another transmission follows it or the message is given up
 */
export function retryAfter(
  attempts: number,
  options: RetryOptions,
  random: Random,
): { readonly waitMs: number; readonly next: 'send' | 'give up' } {
  const { gapsMs, jitter } = options
  const gapMs = gapsMs[Math.min(attempts, gapsMs.length) - 1] ?? onlyGapMs
  const waitMs = gapMs * (1 + jitter * (2 * random() - 1))
  // The last transmission gets as long to be acknowledged as the one before it.
  return { waitMs, next: attempts <= gapsMs.length ? 'send' : 'give up' }
}

/** What says no more than that something went wrong is tried twice: it is not worth the airtime of an answer. */
const repeatsMax: Partial<Record<MessageKind, number>> = {
  error: 1,
  // Anybody can forge a call for help, and whoever sent one sends it again.
  emergency: 2,
}

export const gapsFor = (kind: MessageKind, gapsMs: readonly number[]): readonly number[] =>
  gapsMs.slice(0, repeatsMax[kind] ?? gapsMs.length)

/** A frame that its radio refused is given to it again after this, ms: soon at first, seldom when it is never taken. */
export const resubmitMs = (refusals: number): number =>
  Math.min(5_000 * 2 ** (refusals - 1), 3_600_000)
