/** How much of the time a radio is really on while it has something to send: the rest is others' and the channel's. */
export interface Pace {
  /** Frames were on the air for so long, out of the time that their radio had them or something before them. */
  note(airtimeMs: number, elapsedMs: number): void
  /** 0 to 1 */
  readonly share: number
}

/** Of a channel that nobody else uses, with slots of 100 ms and p = 63, for single frames (found by trial). */
const shareAtFirst = 0.6
/** What was measured in the last so many ms counts; what came before fades. */
const memoryMs = 60_000

export function pace(): Pace {
  let share = shareAtFirst
  return {
    get share() {
      return share
    },
    note(airtimeMs, elapsedMs) {
      if (!(elapsedMs > 0)) return
      const weight = 1 - Math.exp(-elapsedMs / memoryMs)
      share += weight * (Math.min(1, airtimeMs / elapsedMs) - share)
    },
  }
}
