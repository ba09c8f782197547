import type { ControllerAction } from './controllerTypes.js'
import type { TransmitOutcome } from './port.js'
import type { RadioEventKind } from './radioEvent.js'

/** Gathers what a controller wants done because of one input. */
export class ControllerActions {
  private gathered: ControllerAction[] = []
  private nowMs = Number.NEGATIVE_INFINITY

  /** What comes now is because of an input of this moment. */
  begin(nowMs: number): void {
    this.nowMs = nowMs
    this.gathered = []
  }

  list(): ControllerAction[] {
    return this.gathered
  }

  add(action: ControllerAction): void {
    this.gathered.push(action)
  }

  event(kind: RadioEventKind, reason: string, requestId?: string, untilMs?: number): void {
    this.add({ kind: 'event', event: { kind, atMs: this.nowMs, reason, requestId, untilMs } })
  }

  /** The same as an event, too. */
  outcome(outcome: TransmitOutcome): void {
    this.add({ kind: 'outcome', outcome })
    const reason = outcome.kind === 'sent' ? `${Math.round(outcome.airtimeMs)} ms` : outcome.reason
    const untilMs = outcome.kind === 'held' ? outcome.untilMs : undefined
    this.event(outcome.kind, reason, outcome.id, untilMs)
  }

  refuse(item: { readonly id: string }, reason: string, airtimeMs?: number): void {
    this.outcome({ id: item.id, kind: 'refused', atMs: this.nowMs, reason, airtimeMs })
  }
}
