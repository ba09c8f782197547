import { callSignProblem } from '../regulations/callSign.js'
import { AirtimeBudget } from './airtimeBudget.js'
import { type ContentPlan, createContentPlan } from './contentPlan.js'
import { ControllerActions } from './controllerActions.js'
import type {
  ControllerAction,
  ControllerInput,
  ControllerOptions,
  ControllerPast,
  ControllerState,
} from './controllerTypes.js'
import { createDutyLedger, type DutyLedger, type KeyedSpan } from './dutyLedger.js'
import { createIdentificationDebt, type IdentificationDebt } from './identification.js'
import { createPersistence, type Persistence } from './persistence.js'
import { type Airtime, dutyReason, type Hold, heldReason, type TransmitRequest } from './port.js'
import type { ChannelAccess } from './radioPort.js'
import {
  abortReason,
  airtimesMs,
  beginTransmission,
  beginUnkeying,
  deadlineMs,
  type RunningTransmission,
} from './runningTransmission.js'
import type { TransmissionContent } from './transmissionContent.js'
import { createTransmitQueue, type TransmitQueue, type Waiting } from './transmitQueue.js'

/**
 * Decides what one radio sends and when. A state machine: inputs with their time go in, actions come out, and it never looks
 * at a clock. Time may not go back. Every request gets exactly one of sent, refused, expired.
 */
export class TransmitController {
  private readonly queue: TransmitQueue
  private readonly ledger: DutyLedger
  private readonly debt: IdentificationDebt
  private readonly persistence: Persistence
  private readonly plan: ContentPlan
  private readonly holds = new Map<string, Hold>()
  private readonly refusal: string | undefined
  private readonly budget: AirtimeBudget
  private endReason: string | undefined
  private channelBusy = true
  private running: RunningTransmission | undefined
  private dutyHeldUntilMs: number | undefined
  private nowMs = Number.NEGATIVE_INFINITY
  private readonly actions = new ControllerActions()

  /** @throws RangeError when an identification fits neither the time-out timer nor a duty limit */
  constructor(private readonly options: ControllerOptions) {
    this.queue = createTransmitQueue(options.queueMax)
    this.ledger = createDutyLedger(options.dutyLimits, options.past?.spans)
    this.debt = createIdentificationDebt(options.identification, options.past?.owedSinceMs)
    this.persistence = createPersistence(options.random)
    this.plan = createContentPlan(options)
    this.budget = new AirtimeBudget(options, this.plan, this.ledger)
    this.refusal = options.enabled
      ? (callSignProblem(options.call) ?? options.refusal)
      : 'sending is not enabled (transmit.enabled)'
  }

  handle(input: ControllerInput, nowMs: number): ControllerAction[] {
    this.nowMs = Math.max(nowMs, this.nowMs)
    this.actions.begin(this.nowMs)
    this.apply(input)
    this.expire()
    this.advance()
    return this.actions.list()
  }

  /** When it wants an input of kind 'time'; undefined when time alone changes nothing. */
  nextAtMs(): number | undefined {
    const moments = [this.queue.nextExpiryMs()]
    const running = this.running
    if (running?.phase === 'unkeying') moments.push(running.unkeyAgainAtMs)
    else if (running?.phase === 'hanging') moments.push(running.offAtMs)
    else if (running !== undefined) moments.push(deadlineMs(running))
    else if (this.holds.size === 0) {
      moments.push(this.dutyHeldUntilMs, this.persistence.nextAtMs())
      if (this.refusal === undefined) moments.push(this.debt.dueAtMs(), this.debt.latestAtMs())
    }
    let next: number | undefined
    for (const moment of moments) {
      if (moment === undefined || moment <= this.nowMs || moment === Number.POSITIVE_INFINITY)
        continue
      if (next === undefined || moment < next) next = moment
    }
    return next
  }

  readonly isKeyed = (): boolean => this.running !== undefined

  state(nowMs: number): ControllerState {
    return {
      idle: this.running === undefined && this.debt.owedSinceMs() === undefined,
      channelBusy: this.channelBusy,
      keyed: this.isKeyed(),
      transmitBlockedBy:
        this.refusal ?? this.endReason ?? this.holdReason() ?? this.dutyReason(nowMs),
      queuedCount: this.queue.items.length,
      dutyUsed: this.ledger.usedShare(nowMs, this.running?.keyAtMs),
      holds: [...this.holds.values()],
    }
  }

  /** in the order in which they go out */
  waiting(): readonly Waiting[] {
    return this.queue.items
  }

  access(): ChannelAccess {
    return this.plan.access()
  }

  airtime(nowMs: number): Airtime {
    return this.budget.airtime(nowMs)
  }

  /** What the next life of this radio must know. */
  past(): ControllerPast {
    return { spans: [...this.ledger.spans()], owedSinceMs: this.debt.owedSinceMs() }
  }

  private apply(input: ControllerInput): void {
    switch (input.kind) {
      case 'request':
        this.submitFrame(input.request)
        break
      case 'tone': {
        const { id, tone, durationMs, gapMs, notAfterMs } = input.request
        const content = { kind: 'tone', tone, durationMs, gapMs } as const
        this.submit({ id, priority: 'answer', notAfterMs, origin: 'operator', content })
        break
      }
      case 'withdraw': {
        const item = this.queue.take(input.id)
        if (item !== undefined) this.actions.refuse(item, 'it was taken back')
        break
      }
      case 'channel':
        this.channelBusy = input.busy
        break
      case 'hold':
        this.hold(input.source, input.reason)
        break
      case 'release':
        if (this.holds.delete(input.source)) this.actions.event('release', input.source)
        break
      case 'access':
        this.actions.event(
          'settings',
          this.plan.change(input.change, this.identificationMayFollow()),
        )
        this.refuseTooLong()
        break
      case 'keyed':
        this.keyed(input.atMs)
        break
      case 'unsent':
        this.unsent(input.source, input.reason)
        break
      case 'audioEnded':
        if (this.running?.phase === 'sending') this.unkey(this.running)
        break
      case 'unkeyed':
        if (input.reason !== undefined) this.cutFromOutside(input.atMs, input.reason, input.heldBy)
        this.unkeyed(input.atMs)
        break
      case 'cut':
        this.cut(input.reason)
        break
      case 'end':
        this.end(input.reason)
        break
      case 'time':
        break
    }
  }

  private submitFrame(request: TransmitRequest): void {
    const { octets, ...rest } = request
    const content = this.plan.frameContent(octets)
    if (content.ok) this.submit({ ...rest, content: content.value })
    else this.actions.refuse(rest, this.refusal ?? this.endReason ?? content.reason)
  }

  private submit(given: Omit<Waiting, 'sinceMs'>): void {
    const item = { ...given, sinceMs: this.nowMs }
    const problem = this.refusal ?? this.endReason ?? this.plan.tooLong(item.content)
    if (problem !== undefined) {
      this.actions.refuse(item, problem)
      return
    }
    const displaced = this.queue.add(item)
    if (displaced !== item) this.actions.event('queued', item.priority, item.id)
    if (displaced === undefined) return
    const full = `the queue is full (${this.options.queueMax} waiting)`
    this.actions.refuse(
      displaced,
      displaced === item ? full : `${full}, and a more urgent frame came`,
    )
  }

  private expire(): void {
    for (const item of this.queue.takeExpired(this.nowMs)) {
      this.actions.outcome({
        id: item.id,
        kind: 'expired',
        atMs: this.nowMs,
        reason: this.whyWaiting(),
      })
    }
  }

  private hold(source: string, reason: string): void {
    const known = this.holds.get(source)
    if (known?.reason === reason) return
    this.holds.set(source, { source, reason, sinceMs: known?.sinceMs ?? this.nowMs })
    this.actions.event('hold', `${source}: ${reason}`)
    this.cut(`held by ${source}: ${reason}`)
  }

  private end(reason: string): void {
    this.endReason = reason
    const waiting = [...this.queue.items]
    this.queue.remove(waiting)
    for (const item of waiting) this.actions.refuse(item, reason)
  }

  private advance(): void {
    this.endHang()
    const running = this.running
    if (running === undefined) this.begin()
    else if (running.phase === 'unkeying') {
      if (this.nowMs < running.unkeyAgainAtMs) return
      this.actions.event('fault', 'the key line has not answered; unkeying again')
      this.unkey(running)
    } else if (this.nowMs >= deadlineMs(running)) this.cut(abortReason(running, this.nowMs))
  }

  /** The next transmission, when there is one and everything allows it. */
  private begin(): void {
    this.dutyHeldUntilMs = undefined
    const head = this.queue.items[0]
    const identify = this.mustIdentify(head)
    if (!identify && head === undefined) {
      this.persistence.reset()
      return
    }
    const least = identify ? this.plan.identification(true) : this.plan.contentOf([head!])
    if (this.isHeld(identify ? undefined : head, least) || !this.channelIsOurs(identify)) return
    if (identify) {
      this.key([], least)
      return
    }
    const items = this.plan.gather(this.queue.items, (item) =>
      this.budget.plannedMsMax(this.nowMs, item),
    )
    this.queue.remove(items)
    this.key(items, this.plan.contentOf(items))
  }

  private mustIdentify(head: Waiting | undefined): boolean {
    const dueMs = this.endReason === undefined ? this.debt.dueAtMs() : this.debt.owedSinceMs()
    if (this.refusal !== undefined || (dueMs ?? Infinity) > this.nowMs) return false
    // A frame of our own that waits anyhow does it as well, as long as there is time.
    const headDoes = head?.content.kind === 'frame' && head.content.identifies
    return !headDoes || this.identificationIsUrgent()
  }

  private identificationIsUrgent(): boolean {
    return (this.debt.latestAtMs() ?? Infinity) <= this.nowMs
  }

  /**
   * By somebody, or by a duty limit; those who wait are told, once for each cause.
   * @param head undefined for an identification
   */
  private isHeld(head: Waiting | undefined, least: TransmissionContent): boolean {
    const hold = this.holdReason()
    if (hold !== undefined) {
      this.holdAll(hold)
      return true
    }
    const earliestMs = this.budget.earliestMs(this.nowMs, head, least)
    if (earliestMs > this.nowMs) {
      this.dutyHeldUntilMs = earliestMs
      this.holdAll(dutyReason, earliestMs)
      return true
    }
    for (const item of this.queue.items) item.heldFor = undefined
    return false
  }

  private channelIsOurs(identify: boolean): boolean {
    const access = this.plan.access()
    if (access.fullDuplex) return true
    // An identification that is about to be late takes the first free moment, without a draw.
    if (identify && this.identificationIsUrgent()) return !this.channelBusy
    const slotted = { ...access, slotTimeMs: this.slotMs() }
    return this.persistence.ask(this.nowMs, this.channelBusy, slotted)
  }

  /** Two that begin within a radio's attack do not hear each other, so a slot is at least as long. */
  private slotMs(): number {
    return Math.max(this.plan.access().slotTimeMs, this.options.attackMs ?? 0)
  }

  private key(items: readonly Waiting[], content: TransmissionContent): void {
    const keyedMsMax = this.budget.keyedMsMax(this.nowMs, items.length === 0)
    this.persistence.reset()
    this.running = beginTransmission(items, this.nowMs, keyedMsMax, this.options)
    this.actions.add({ kind: 'key', content })
  }

  private keyed(atMs: number): void {
    const running = this.running
    if (running?.phase !== 'keying') return
    running.phase = 'sending'
    running.keyedAtMs = atMs
    const what = running.items.length === 0 ? 'identification' : `${running.items.length} queued`
    this.actions.event('keyed', what)
    this.actions.add({ kind: 'play' })
  }

  private unsent(source: string, reason: string): void {
    const running = this.running
    if (running?.phase !== 'keying') return
    this.running = undefined
    this.hold(source, reason)
    for (const item of running.items) this.actions.refuse(item, reason)
  }

  private unkey(running: RunningTransmission): void {
    beginUnkeying(running, this.nowMs)
    this.actions.add({ kind: 'unkey', cut: running.cutBy !== undefined })
  }

  private cut(reason: string): void {
    const running = this.running
    if (running === undefined || isEnding(running)) return
    if (this.options.irrevocable && running.phase === 'sending') return
    running.cutBy = reason
    this.actions.event('cut', reason)
    this.unkey(running)
  }

  /** Nobody asked for it: what has not been sent yet is cut short, and its audio must be silenced. */
  private cutFromOutside(atMs: number, reason: string, heldBy: string | undefined): void {
    const running = this.running
    // Whoever hung while the line was cut may have asked for its end before he heard of that.
    if (running !== undefined && isEnding(running) && atMs < running.endsSinceMs)
      running.cutBy ??= reason
    this.cut(reason)
    if (heldBy !== undefined) this.hold(heldBy, reason)
  }

  private unkeyed(atMs: number): void {
    const running = this.running
    if (running?.phase !== 'unkeying') return
    running.phase = 'hanging'
    running.offAtMs = atMs + (this.options.hangMs ?? 0)
    this.endHang()
  }

  /** Once the transmitter is off, too. */
  private endHang(): void {
    const running = this.running
    if (running?.phase !== 'hanging' || this.nowMs < running.offAtMs) return
    this.running = undefined
    const span = { fromMs: running.keyedAtMs ?? running.keyAtMs, toMs: running.offAtMs }
    // When a line that was told to key is on, its helper knows only afterwards: the limits count from the command.
    this.ledger.note({ ...span, fromMs: running.keyAtMs })
    this.debt.noteTransmission(span, running.identifies && running.cutBy === undefined)
    const owedSinceMs = this.debt.owedSinceMs()
    const unkeyed = { kind: 'unkeyed', atMs: this.nowMs, reason: running.cutBy ?? '' } as const
    this.actions.add({ kind: 'event', event: { ...unkeyed, owedSinceMs } })
    this.plan.setIdentificationPending(owedSinceMs !== undefined)
    if (running.items.length === 0 && running.cutBy === undefined)
      this.actions.event('identified', this.options.call)
    this.tellFate(running, span)
    if (!this.plan.access().fullDuplex) {
      // Somebody may have begun while we could not hear: listen for a slot first.
      this.persistence.waitUntil(running.offAtMs + this.slotMs())
    }
  }

  private tellFate({ items, cutBy }: RunningTransmission, span: KeyedSpan): void {
    const totalMs = span.toMs - span.fromMs
    const shares = airtimesMs(
      totalMs,
      items.map((item) => this.plan.weight(item)),
    )
    for (const [index, item] of items.entries()) {
      const airtimeMs = shares[index]!
      if (cutBy !== undefined)
        this.actions.refuse(item, `cut after ${Math.round(totalMs)} ms: ${cutBy}`, airtimeMs)
      else this.actions.outcome({ id: item.id, kind: 'sent', atMs: span.toMs, airtimeMs })
    }
  }

  /** Settings may have grown since they were taken. */
  private refuseTooLong(): void {
    for (const item of [...this.queue.items]) {
      const problem = this.plan.tooLong(item.content)
      if (problem === undefined) continue
      this.queue.remove([item])
      this.actions.refuse(item, problem)
    }
  }

  private holdAll(reason: string, untilMs?: number): void {
    this.persistence.reset()
    for (const item of this.queue.items) {
      if (item.heldFor === reason) continue
      item.heldFor = reason
      this.actions.outcome({ id: item.id, kind: 'held', atMs: this.nowMs, reason, untilMs })
    }
  }

  private identificationMayFollow(): boolean {
    return this.debt.owedSinceMs() !== undefined || this.running !== undefined
  }

  private holdReason(): string | undefined {
    const [first] = this.holds.values()
    return first && heldReason(first)
  }

  private dutyReason(nowMs: number): string | undefined {
    return (this.dutyHeldUntilMs ?? nowMs) > nowMs ? dutyReason : undefined
  }

  private whyWaiting(): string {
    return (
      this.holdReason() ??
      this.dutyReason(this.nowMs) ??
      (this.running !== undefined
        ? 'its turn did not come while others were sent'
        : this.channelBusy && !this.plan.access().fullDuplex
          ? 'the channel was busy'
          : 'its turn on the channel did not come')
    )
  }
}

const isEnding = ({ phase }: RunningTransmission): boolean =>
  phase === 'unkeying' || phase === 'hanging'
