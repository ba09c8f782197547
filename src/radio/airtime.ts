import type { ContentPlan } from './contentPlan.js'
import { allowanceOf, createDutyLedger, type DutyLedger, type DutyLimit } from './dutyLedger.js'
import type { Airtime, Priority } from './port.js'
import type { TransmitOptions } from './transmitOptions.js'
import { leavesReserve } from './transmitQueue.js'

export interface AirtimeParts {
  readonly limits: readonly DutyLimit[]
  readonly ledger: DutyLedger
  readonly plan: Pick<ContentPlan, 'framesContent' | 'keyedMs' | 'reserveMs'>
  /** set aside for acknowledgements and emergencies */
  readonly reserveMs: number
  /** monotonic */
  readonly nowMs: number
}

/** A forecast takes so many steps through an allowance: each stands for a transmission. */
const stepsPerAllowance = 40

/** What a radio may still send. */
export function airtime(parts: AirtimeParts): Airtime {
  const { limits, ledger, plan, nowMs } = parts
  const allowanceMs = allowanceOf(limits)
  const asideMs = (priority: Priority): number =>
    plan.reserveMs() + (leavesReserve(priority) ? parts.reserveMs : 0)
  return {
    allowanceMs,
    keyedMs(frames) {
      return plan.keyedMs(plan.framesContent(frames))
    },
    freeMs: (priority) => Math.max(0, ledger.longestMs(nowMs) - asideMs(priority)),
    earliestMs: (neededMs, priority) =>
      ledger.earliestMs(nowMs, neededMs + asideMs(priority)) ?? Number.POSITIVE_INFINITY,
    forecast(untilMs, priority) {
      if (allowanceMs === Number.POSITIVE_INFINITY) return (atMs) => Math.max(0, atMs - nowMs)
      const stepMs = allowanceMs / stepsPerAllowance
      const copy = createDutyLedger(limits, ledger.spans())
      const ends = stepEnds(copy, { fromMs: nowMs, untilMs, stepMs, asideMs: asideMs(priority) })
      return (atMs) => stepMs * countUpTo(ends, atMs)
    },
  }
}

/** What acknowledgements and emergencies have for themselves, ms. */
export function reserveOf({ dutyLimits, reserveShare = 0 }: TransmitOptions): number {
  const allowanceMs = allowanceOf(dutyLimits)
  return allowanceMs === Number.POSITIVE_INFINITY ? 0 : reserveShare * allowanceMs
}

/** Sends in steps, each as early as the ledger allows. @returns when each ends */
function stepEnds(
  ledger: DutyLedger,
  steps: { fromMs: number; untilMs: number; stepMs: number; asideMs: number },
): number[] {
  const ends: number[] = []
  let atMs = steps.fromMs
  for (;;) {
    const fromMs = ledger.earliestMs(atMs, steps.stepMs + steps.asideMs)
    if (fromMs === undefined || fromMs + steps.stepMs > steps.untilMs) return ends
    atMs = fromMs + steps.stepMs
    ledger.note({ fromMs, toMs: atMs })
    ends.push(atMs)
  }
}

/** How many of some moments in order are not after this one. */
function countUpTo(moments: readonly number[], atMs: number): number {
  let low = 0
  let high = moments.length
  while (low < high) {
    const middle = (low + high) >> 1
    if (moments[middle]! <= atMs) low = middle + 1
    else high = middle
  }
  return low
}
