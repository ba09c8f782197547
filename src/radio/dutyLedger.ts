/** The key line may be on for at most `share` of any window of `windowMs`. */
export interface DutyLimit {
  readonly windowMs: number
  /** above 0, at most 1 */
  readonly share: number
}

/** A stretch of time during which the key line was on. */
export interface KeyedSpan {
  readonly fromMs: number
  readonly toMs: number
}
