import { type Cancel, type Clock, every } from '../runtime/clock.js'
import type { ClockTrust } from '../runtime/clockTrust.js'
import type { Store } from '../store/store.js'
import type { Journal } from './journal.js'
import type { Mail } from './mail.js'
import type { NodeOptions } from './options.js'

const lookEveryMs = 60_000
/** A step of some 10 ms. */
const givenAtOnce = 500
const giveAgainMs = 500
const hourMs = 3_600_000

/** What the log calls a clock that was set; the reason says how. */
export const clockSetText = "the machine's clock"

/**
 * Looks each minute for what has waited past its time, while the clock is trusted. What was left or posted before that gets its
 * time when trust comes: its stamp may be of another year.
 */
export function startExpiry(parts: {
  readonly clock: Clock
  readonly clockTrust: ClockTrust
  readonly store: Store
  readonly note: Journal
  readonly mail: Mail
  readonly options: NodeOptions
}): Cancel {
  const { clock, clockTrust, store, note, options } = parts
  let stepsNoted = clockTrust.steps.count

  const noteSteps = (): void => {
    const { count, lastMs } = clockTrust.steps
    if (count === stepsNoted) return
    stepsNoted = count
    const reason = `it was set ${lastMs > 0 ? 'forward' : 'back'} by ${durationText(Math.abs(lastMs))}`
    const waits = clockTrust.trusted() ? '' : '; nothing expires until it can be trusted'
    note('fault', clockSetText, { reason: reason + waits })
  }

  let cancelNext: Cancel = () => {}

  /** Thousands may wait for it: they get their time one short step after another. */
  const giveTime = (): void => {
    cancelNext()
    const untrusted = store.reading('what waits for the clock', 0, () => {
      return (
        store.mailbox.untrustedCount + store.notices.untrustedCount + store.letters.untrustedCount
      )
    })
    if (untrusted === 0 || !clockTrust.trusted()) return
    const wallMs = clock.wallMs()
    const given = store.durably('when things expire', () => {
      let left = givenAtOnce
      left -= store.mailbox.trustExpiry(wallMs + options.mailbox.keepMs, left)
      left -= store.notices.trustExpiry(wallMs + options.notices.keepMs, left)
      return left - store.letters.trustExpiry(wallMs + options.mailbox.keepMs, left)
    })
    if (given.ok && given.value === 0)
      cancelNext = clock.at(clock.monotonicMs() + giveAgainMs, giveTime)
  }

  const cancel = every(clock, lookEveryMs, () => {
    noteSteps()
    if (!clockTrust.trusted()) return
    giveTime()
    parts.mail.expire()
  })
  return () => {
    cancel()
    cancelNext()
  }
}

function durationText(ms: number): string {
  if (ms < 2 * 60_000) return `${Math.round(ms / 1000)} s`
  if (ms < 2 * hourMs) return `${Math.round(ms / 60_000)} minutes`
  return ms < 48 * hourMs
    ? `${Math.round(ms / hourMs)} hours`
    : `${Math.round(ms / (24 * hourMs))} days`
}
