import { airtime, reserveOf } from './airtime.js'
import type { ContentPlan } from './contentPlan.js'
import { allowanceOf, type DutyLedger } from './dutyLedger.js'
import type { Airtime } from './port.js'
import type { TransmissionContent } from './transmissionContent.js'
import type { TransmitOptions } from './transmitOptions.js'
import { leavesReserve, type Waiting } from './transmitQueue.js'

/** What the time-out timer and the duty limits leave for the next transmission, and what that must leave to others. */
export class AirtimeBudget {
  /** airtime for acknowledgements and emergencies alone */
  private readonly reserveMs: number

  constructor(
    private readonly options: TransmitOptions,
    private readonly plan: ContentPlan,
    private readonly ledger: DutyLedger,
  ) {
    this.reserveMs = reserveOf(options)
  }

  /**
   * When a transmission may begin; Infinity where it never may.
   * @param head its first request; undefined for an identification, which may have all that is set aside
   */
  earliestMs(nowMs: number, head: Waiting | undefined, content: TransmissionContent): number {
    const neededMs = this.plan.keyedMs(content) + (head === undefined ? 0 : this.leftBy(head))
    return this.ledger.earliestMs(nowMs, neededMs) ?? Number.POSITIVE_INFINITY
  }

  /** How long a transmission may be planned to last with this request as its last. */
  plannedMsMax(nowMs: number, last: Waiting): number {
    return this.msMax(nowMs, this.leftBy(last))
  }

  /** When a transmission that begins now is cut at the latest. */
  keyedMsMax(nowMs: number, isIdentification: boolean): number {
    return isIdentification
      ? Math.min(this.msMax(nowMs, 0), this.plan.identificationMsMax())
      : this.msMax(nowMs, this.plan.reserveMs())
  }

  airtime(nowMs: number): Airtime {
    const { ledger, plan, reserveMs } = this
    return airtime({ limits: this.options.dutyLimits, ledger, plan, reserveMs, nowMs })
  }

  private msMax(nowMs: number, leftMs: number): number {
    return Math.min(this.options.timeOutMs, this.ledger.longestMs(nowMs) - leftMs)
  }

  /** To identifications, and to what is more urgent; to the latter less where the limits would not allow it at all otherwise. */
  private leftBy(item: Waiting): number {
    const toIdentifyMs = this.plan.reserveMs()
    if (this.reserveMs === 0 || !leavesReserve(item.priority)) return toIdentifyMs
    const aloneMs = this.plan.keyedMs(this.plan.contentOf([item])) + toIdentifyMs
    const restMs = allowanceOf(this.options.dutyLimits) - aloneMs
    return toIdentifyMs + Math.max(0, Math.min(this.reserveMs, restMs))
  }
}
