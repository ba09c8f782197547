import type { FinalOutcome } from '../radio/port.js'
import type { Clock } from '../runtime/clock.js'
import type { ClockTrust } from '../runtime/clockTrust.js'
import type { Random } from '../runtime/random.js'
import type { MessageRecord, MessageState } from '../store/messages.js'
import type { Store } from '../store/store.js'
import type { Promised } from './admission.js'
import { type EventDetail, type Journal, messageReference } from './journal.js'
import type { AnswerOptions } from './options.js'
import { gapsFor, resubmitMs, retryAfter } from './retry.js'
import type { Tally } from './tally.js'
import type { Transmitter } from './transmitter.js'
import { dueMessages } from './turns.js'
import { laneOf, octetCountOf, payloadOf, priorityOf, type UnderWay, underWay } from './underWay.js'
import { type UnderWayTable, underWayTable } from './underWayTable.js'

type EndState = Exclude<MessageState, 'waiting' | 'parked'>

/** Messages of ours on their way: sent in order, repeated with growing gaps, ended by their receivers or by time. */
export interface Outbox {
  /**
   * Takes up messages that are in the database.
   * @param turn as in Outgoing: of answers, how many their station was promised lately
   */
  add(messages: readonly MessageRecord[], turn?: number): void
  /** @returns false when no message of ours that has gone out has this number */
  acknowledged(from: string, number: string, how: string): boolean
  rejected(from: string, number: string): boolean
  /**
   * An asker who asks the same again has not got what was given up, or what a safe start left alone: it is sent again, under
   * the same numbers.
   * @returns false when nothing of it is
   */
  sendAgain(questionId: number): boolean
  /** What is left of older answers to this station is dropped; one that has not begun goes out once. */
  newerQuestion(from: string, questionId: number): void
  /** Nothing more goes to a station: it only says again what it gets. */
  endAll(station: string, reason: string): void
  /** Messages that waited for the station to be heard go out. */
  stationHeard(call: string): void
  /** Sends what waits for this station now; returns how many there are. */
  resend(call: string): number
  readonly openCount: number
  /** of those, messages that wait for their station to be heard */
  readonly parkedCount: number
  /** parts of answers that have not gone out */
  promised(): readonly Promised[]
  hasOpen(mailboxId: number): boolean
  /** Ends the message that carries this entry, if one does. */
  giveUpCarrier(mailboxId: number, reason: string): void
  stop(): void
}

export interface OutboxParts {
  readonly clock: Clock
  readonly clockTrust: ClockTrust
  readonly random: Random
  readonly store: Store
  readonly transmitter: Transmitter
  readonly note: Journal
  readonly tally: Tally
  readonly options: AnswerOptions
  /** digipeaters on the way to a station */
  readonly pathTo: (call: string) => readonly string[]
  /** Runs in the transaction that ends a message; what it returns is sent after it. */
  readonly onEnd: (
    message: MessageRecord,
    state: EndState,
    reason: string | undefined,
  ) => MessageRecord[]
  /** The same, for the first part of an answer of which nothing went out. */
  readonly onLost: (message: MessageRecord) => MessageRecord[]
}

const newer = 'a newer question came'
const deaf = 'its receiver does not acknowledge'

/** Ends that an asker who asks again can undo. */
const revivable: readonly MessageState[] = ['given up', 'expired']
const isOpen = (state: MessageState): boolean => state === 'waiting' || state === 'parked'

/** What has not gone out nobody has received: what acknowledges it means a former message with its number. */
const isUnheard = ({ state, sentCount }: UnderWay): boolean =>
  sentCount === 0 && state !== 'sending'

/** What has begun to go out is finished, though its time is over: half an answer is of no use. */
const finishWithinMs = 6 * 60_000
/** Reports wait for their receiver to be heard again, so many times. */
const parkingsMax = 3

export const outbox = (parts: OutboxParts): Outbox => new MessageOutbox(parts)

class MessageOutbox implements Outbox {
  private readonly table: UnderWayTable = underWayTable()
  private stopped = false

  constructor(private readonly parts: OutboxParts) {}

  add(messages: readonly MessageRecord[], turn = 0): void {
    const { clock, clockTrust } = this.parts
    const wallMs = clockTrust.trusted() ? clock.wallMs() : undefined
    const now = { nowMs: clock.monotonicMs(), wallMs, turn }
    for (const message of messages) {
      const one = underWay(message, now)
      this.table.add(one)
      if (one.state === 'parked') this.expireLater(one)
    }
    for (const station of new Set(messages.map(({ to }) => to))) this.sendDue(station)
  }

  acknowledged(from: string, number: string, how: string): boolean {
    const one = this.find(from, number)
    if (one === undefined) return this.endLate(from, number, 'acknowledged')
    if (isUnheard(one)) return false
    for (const part of this.table.partsOf(one.message)) part.partAcknowledged = true
    this.end(one, 'acknowledged', how)
    return true
  }

  rejected(from: string, number: string): boolean {
    const one = this.find(from, number)
    if (one === undefined) return this.endLate(from, number, 'rejected')
    if (isUnheard(one)) return false
    this.end(one, 'rejected', 'by its receiver')
    return true
  }

  sendAgain(questionId: number): boolean {
    const { store, clock, options } = this.parts
    const notAfterMs = clock.wallMs() + options.notAfterMs
    const revived = store.durably('answers that are sent again', () =>
      store.messages
        .ofQuestion(questionId)
        .filter(({ id, state, reason }) =>
          isOpen(state) ? !this.table.hasId(id) : revivable.includes(state) && reason !== newer,
        )
        .map(({ id }) => store.messages.revive(id, notAfterMs)),
    )
    if (revived.ok) this.add(revived.value)
    return revived.ok && revived.value.length > 0
  }

  newerQuestion(from: string, questionId: number): void {
    for (const one of this.table.to(from)) {
      const { questionId: own } = one.message
      if (laneOf(one.message) !== 'answers' || own === undefined || own >= questionId) continue
      // None of its parts may go out between the ends of two.
      if (one.begun) this.close(one, 'given up', newer)
      else one.onlyOnce = newer
    }
    this.sendDue(from)
  }

  endAll(station: string, reason: string): void {
    for (const one of this.table.to(station))
      if (this.table.has(one)) this.close(one, 'given up', reason)
  }

  giveUpCarrier(mailboxId: number, reason: string): void {
    for (const one of this.table.all())
      if (one.message.mailboxId === mailboxId) this.end(one, 'given up', reason)
  }

  stationHeard(call: string): void {
    const { store } = this.parts
    for (const one of this.table.to(call)) {
      if (one.state !== 'parked') continue
      one.cancel?.()
      one.state = one.sentCount > 0 ? 'due' : 'waiting'
      one.attempts = 0
      const { id } = one.message
      store.durably('a message that waited', () => store.messages.setState(id, 'waiting'))
    }
    this.sendDue(call)
  }

  resend(call: string): number {
    const own = this.table.to(call)
    for (const one of own) {
      if (one.state !== 'sent' && one.state !== 'due') continue
      one.cancel?.()
      one.attempts = Math.max(0, one.attempts - 1)
      this.transmit(one)
    }
    return own.length
  }

  get openCount(): number {
    return this.table.count
  }

  get parkedCount(): number {
    return this.table.all().filter(({ state }) => state === 'parked').length
  }

  promised(): readonly Promised[] {
    return this.table
      .all()
      .filter((one) => laneOf(one.message) === 'answers' && one.sentCount === 0)
      .map(({ message, turn, begun, deadlineMs }) => ({
        ...{ radio: message.radio, turn: begun ? -1 : turn, deadlineMs },
        octetCount: octetCountOf(message),
      }))
  }

  hasOpen(mailboxId: number): boolean {
    return this.table.all().some(({ message }) => message.mailboxId === mailboxId)
  }

  stop(): void {
    this.stopped = true
    for (const one of this.table.all()) one.cancel?.()
  }

  private find(from: string, number: string): UnderWay | undefined {
    return this.table.to(from).find(({ message }) => message.number === number)
  }

  /** Gives the transmitter what may go out to a station now. */
  private sendDue(station: string): void {
    if (this.stopped) return
    const { options, transmitter } = this.parts
    const own = this.table.to(station)
    const isBusy = own.some(({ message }) => transmitter.isBusy(message.radio))
    for (const one of dueMessages(own, { window: options.window, isBusy })) {
      // one that was sent may have ended others
      if ((one.state === 'waiting' || one.state === 'due') && this.table.has(one))
        this.transmit(one)
    }
  }

  private transmit(one: UnderWay): void {
    const { clock, transmitter, pathTo } = this.parts
    const { message, deadlineMs } = one
    if (clock.monotonicMs() >= deadlineMs) {
      this.endUnsent(one, 'expired', 'too late to be of use')
      return
    }
    const payload = payloadOf(message)
    if (!payload.ok) {
      this.endUnsent(one, 'given up', payload.reason)
      return
    }
    one.state = 'sending'
    one.cancel = undefined
    const { to: station, radio, text, id } = message
    const takeBack = transmitter.send({
      ...{ payload: payload.value, path: pathTo(station), radio, station, text },
      priority: priorityOf(one),
      turn: one.begun ? -1 : one.turn,
      followingOctets: this.followingOctets(one),
      notAfterMs: deadlineMs,
      reference: messageReference(id),
      onEnd: (outcome) => this.onOutcome(one, outcome),
    })
    // It may have been refused at once.
    if (one.state === 'sending') one.takeBack = takeBack
  }

  /** What of its answer has not gone out and comes after it. */
  private followingOctets(one: UnderWay): number {
    const parts = this.table.partsOf(one.message)
    const following = parts.slice(parts.indexOf(one) + 1).filter(({ sentCount }) => sentCount === 0)
    return following.reduce((sum, { message }) => sum + octetCountOf(message), 0)
  }

  private onOutcome(one: UnderWay, outcome: FinalOutcome): void {
    if (this.stopped || !this.table.has(one)) return
    one.takeBack = undefined
    if (outcome.kind === 'sent') this.onSent(one)
    else if (outcome.kind === 'expired') this.endUnsent(one, 'expired', outcome.reason)
    else if (
      outcome.isFinal ||
      this.parts.transmitter.blockedBy(one.message.radio) === outcome.reason
    )
      this.endUnsent(one, 'given up', outcome.reason)
    else this.tryAgain(one, outcome.reason, outcome.airtimeMs !== undefined)
  }

  private onSent(one: UnderWay): void {
    this.parts.store.messages.noteAttempt(one.message.id)
    one.sentCount++
    one.attempts++
    one.refusals = 0
    one.state = 'sent'
    const finishedMs = this.parts.clock.monotonicMs() + finishWithinMs
    for (const part of this.table.partsOf(one.message)) {
      part.begun = true
      if (part.sentCount === 0) part.deadlineMs = Math.max(part.deadlineMs, finishedMs)
    }
    if (one.message.number === undefined) this.end(one, 'sent')
    else this.awaitAcknowledgement(one)
  }

  private awaitAcknowledgement(one: UnderWay): void {
    const { clock, options, random } = this.parts
    const gapsMs = gapsFor(one.message.kind, options.gapsMs)
    const { waitMs, next } = retryAfter(one.attempts, { ...options, gapsMs }, random)
    one.cancel = clock.at(clock.monotonicMs() + waitMs, () => {
      const times = `${one.attempts} transmission${one.attempts === 1 ? '' : 's'}`
      if (one.onlyOnce !== undefined) this.giveUp(one, one.onlyOnce)
      else if (next === 'give up') this.giveUp(one, `not acknowledged after ${times}`)
      else {
        one.state = 'due'
        this.sendDue(one.message.to)
      }
    })
    this.sendDue(one.message.to)
  }

  /**
   * A queue that was full, a radio that was started anew: that passes, and is no try, as nothing went out. A transmission
   * that was cut is one: it must not be begun for ever.
   */
  private tryAgain(one: UnderWay, reason: string, wasCut: boolean): void {
    const { clock, options } = this.parts
    if (wasCut) one.attempts++
    one.refusals++
    if (one.attempts > gapsFor(one.message.kind, options.gapsMs).length) {
      this.giveUp(one, reason)
      return
    }
    one.state = 'pausing'
    one.cancel = clock.at(clock.monotonicMs() + resubmitMs(one.refusals), () => {
      one.state = one.sentCount > 0 ? 'due' : 'waiting'
      this.sendDue(one.message.to)
    })
    this.sendDue(one.message.to)
  }

  private giveUp(one: UnderWay, reason: string): void {
    const { kind, to } = one.message
    const { gapsMs } = this.parts.options
    if (kind === 'report' && one.sentCount < parkingsMax * (gapsMs.length + 1)) {
      this.park(one)
      return
    }
    if (one.sentCount === 0) {
      this.endUnsent(one, 'given up', reason)
      return
    }
    // Who does not acknowledge one message would not acknowledge the others: the parts of its answer were sent once,
    // and that is all; mail waits for a better moment.
    const others =
      kind === 'mailbox'
        ? this.table
            .to(to)
            .filter(({ state, message }) => state === 'waiting' && message.kind === kind)
        : one.partAcknowledged
          ? []
          : this.table.partsOf(one.message).filter((part) => part !== one)
    this.close(one, 'given up', reason)
    for (const other of others) this.close(other, 'given up', other.onlyOnce ?? deaf)
    this.sendDue(to)
  }

  /** The end of a message that never went out: with the first part of an answer, all of it. */
  private endUnsent(one: UnderWay, state: 'expired' | 'given up', reason: string): void {
    const parts = one.begun ? [one] : this.table.partsOf(one.message)
    for (const part of parts) this.close(part, state, reason, part === parts[0] && !one.begun)
    this.sendDue(one.message.to)
  }

  private end(one: UnderWay, state: EndState, reason?: string): void {
    this.close(one, state, reason)
    this.sendDue(one.message.to)
  }

  private close(one: UnderWay, state: EndState, reason?: string, isLost = false): void {
    const { store, clock, onEnd, onLost, tally } = this.parts
    const { message } = one
    one.cancel?.()
    one.takeBack?.(`its message has ended: ${state}`)
    this.table.remove(one)
    // When this cannot be written, the message ends here all the same; after a restart it would be sent
    // once more under its number, which its receiver has seen.
    const ended = store.durably('the end of a message', () => {
      store.messages.end(message.id, state, clock.wallMs(), reason)
      return [...onEnd(message, state, reason), ...(isLost ? onLost(message) : [])]
    })
    if (state !== 'sent') this.tell(message, state, reason)
    if (state === 'given up' || state === 'expired') tally.note(state, reason)
    if (ended.ok) this.add(ended.value)
  }

  /** A station that is never heard again must not keep its messages here for ever. */
  private expireLater(one: UnderWay): void {
    one.cancel = this.parts.clock.at(one.deadlineMs, () =>
      this.end(one, 'expired', 'its station was not heard again in time'),
    )
  }

  private park(one: UnderWay): void {
    const { store } = this.parts
    const { id, to } = one.message
    one.state = 'parked'
    this.expireLater(one)
    store.durably('a message that waits', () => store.messages.setState(id, 'parked'))
    this.tell(one.message, 'held', 'until its station is heard again')
    this.sendDue(to)
  }

  /** An acknowledgement that comes after its message was given up still counts. */
  private endLate(from: string, number: string, state: 'acknowledged' | 'rejected'): boolean {
    const { store, clock, onEnd } = this.parts
    const message = store.reading('a message', undefined, () =>
      store.messages.findByNumber(from, number),
    )
    if (message === undefined) return false
    if (message.state !== 'given up' && message.state !== 'expired') return true
    if (message.attempts === 0) return false
    const reason = `late: it was ${message.state}`
    const ended = store.durably('a late acknowledgement', () => {
      store.messages.end(message.id, state, clock.wallMs(), reason)
      return onEnd(message, state, reason)
    })
    this.tell(message, state, reason)
    if (ended.ok) this.add(ended.value)
    return true
  }

  private tell(message: MessageRecord, kind: Parameters<Journal>[0], reason?: string): void {
    const { to, radio, id, text } = message
    const detail: EventDetail = { station: to, radio, reference: messageReference(id), reason }
    this.parts.note(kind, text, detail)
  }
}
