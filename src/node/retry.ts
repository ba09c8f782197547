import type { Random } from '../runtime/random.js'

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
