import type { ClockTrust } from '../../src/runtime/clockTrust.js'

/** A clock that is trusted from the start. */
export const trustedClock: ClockTrust = {
  trusted: () => true,
  confirmed: () => true,
  steps: { count: 0, lastMs: 0 },
  gpsSays: () => {},
  wasAhead: () => {},
}
