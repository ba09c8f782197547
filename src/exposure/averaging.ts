// How much of an averaging time a transmitter can be keyed.

/** In any rolling window of this length the transmitter is keyed for at most this share of it. */
export interface DutyLimit {
  readonly windowS: number
  /** 0 to 1 */
  readonly share: number
}

/**
 * Largest share of an averaging time that can be keyed while every rolling-window limit holds.
 * A window shorter than the averaging time fits into it a whole number of times, and once more as far as what is
 * left allows; a longer one may spend all of its keyed time inside. Exact for one limit; where several act together the
 * smallest counts, which is the true share or a little more, never less.
 * @param averagingS length of the rule's averaging time
 * @returns 0 to 1; 1 without any limit
 */
export function worstKeyedShare(averagingS: number, limits: readonly DutyLimit[]): number {
  let keyedS = averagingS
  for (const { windowS, share } of limits) {
    const budgetS = windowS * share
    const whole = Math.floor(averagingS / windowS)
    const leftS = averagingS - whole * windowS
    keyedS = Math.min(keyedS, whole * budgetS + Math.min(leftS, budgetS))
  }
  return keyedS / averagingS
}

/**
 * Power averaged over the rule's averaging time.
 * @param modeDutyFactor how much of a keyed stretch is carrier: 1 for FM, AFSK and any constant envelope
 * @param keyedShare share of the averaging time that is keyed
 * @see OET Bulletin 65 Supplement B, worked examples; checked in test/published/exposure.test.ts
 */
export const averagePowerW = (
  peakPowerW: number,
  modeDutyFactor: number,
  keyedShare: number,
): number => peakPowerW * modeDutyFactor * keyedShare

/** FM and AFSK send at full power for as long as they are keyed. @see OET 65 Supplement B duty factor table */
export const afskDutyFactor = 1
