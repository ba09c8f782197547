import type { TransmitOutcome } from '../radio/port.js'
import type { Clock } from '../runtime/clock.js'
import type { ClockTrust } from '../runtime/clockTrust.js'
import type { Random } from '../runtime/random.js'
import type { MessageRecord, MessageState } from '../store/messages.js'
import type { Store } from '../store/store.js'
import { type Journal, messageReference } from './journal.js'
import { inLanes, type Letter, letterFor, letterRack, payloadOf, priorityOf } from './letter.js'
import type { AnswerOptions } from './options.js'
import { retryAfter } from './retry.js'
import type { Transmitter } from './transmitter.js'

type EndState = Exclude<MessageState, 'waiting' | 'parked'>

/** Messages of ours on their way: sent in order, repeated with growing gaps, ended by their receivers or by time. */
export interface Outbox {
  /** Takes up messages that are in the database. */
  add(messages: readonly MessageRecord[]): void
  /** @returns false when no message of ours has this number */
  acknowledged(from: string, number: string, how: string): boolean
  rejected(from: string, number: string): boolean
  /** An asker who asks the same again has not got what was given up: it is sent again, under the same numbers. */
  sendAgain(questionId: number): void
  /** Older answers to this station are repeated no more. */
  newerQuestion(from: string, questionId: number): void
  /** Messages that waited for the station to be heard go out. */
  stationHeard(call: string): void
  /** Sends what waits for this station now; returns how many there are. */
  resend(call: string): number
  readonly openCount: number
  /** of those, messages that wait for their station to be heard */
  readonly parkedCount: number
  hasOpen(mailboxId: number): boolean
  stop(): void
}

export interface OutboxParts {
  readonly clock: Clock
  readonly clockTrust: ClockTrust
  readonly random: Random
  readonly store: Store
  readonly transmitter: Transmitter
  readonly note: Journal
  readonly options: AnswerOptions
  /** digipeaters on the way to a station */
  readonly pathTo: (call: string) => readonly string[]
  /** Runs in the transaction that ends a message; what it returns is sent after it. */
  readonly onEnd: (
    message: MessageRecord,
    state: EndState,
    reason: string | undefined,
  ) => MessageRecord[]
}

const newer = 'a newer question came'
const deaf = 'its receiver does not acknowledge'

/** Reports wait for their receiver to be heard again, so many times. */
const parkingsMax = 3

export function outbox(parts: OutboxParts): Outbox {
  const { clock, store, note, options } = parts
  const letters = letterRack()
  let stopped = false

  const detailOf = ({ to, id, radio }: MessageRecord) => ({
    station: to,
    radio,
    reference: messageReference(id),
  })

  const end = (letter: Letter, state: EndState, reason?: string): void => {
    const { message } = letter
    letter.cancel?.()
    letters.remove(letter)
    // When this cannot be written, the message ends here all the same; after a restart it would be sent
    // once more under its number, which its receiver has seen.
    const ended = store.durably('the end of a message', () => {
      store.messages.end(message.id, state, clock.wallMs(), reason)
      return parts.onEnd(message, state, reason)
    })
    if (state !== 'sent') note(state, message.text, { ...detailOf(message), reason })
    if (ended.ok) add(ended.value)
    pump(message.to)
  }

  /** A station that is never heard again must not keep its messages here for ever. */
  const expireLater = (letter: Letter): void => {
    letter.cancel = clock.at(letter.deadlineMs, () =>
      end(letter, 'expired', 'its station was not heard again in time'),
    )
  }

  const park = (letter: Letter): void => {
    letter.state = 'parked'
    expireLater(letter)
    store.durably('a message that waits', () =>
      store.messages.setState(letter.message.id, 'parked'),
    )
    note('held', letter.message.text, {
      ...detailOf(letter.message),
      reason: 'until its station is heard again',
    })
    pump(letter.message.to)
  }

  const giveUp = (letter: Letter, reason: string): void => {
    const roundsMax = parkingsMax * (options.gapsMs.length + 1)
    const { kind, to } = letter.message
    // Who does not acknowledge one message would not acknowledge the others. Mail waits for a better
    // moment; of an answer the rest is sent, once each: there are radios that show and never acknowledge.
    for (const other of letters.to(to)) {
      if (other.state !== 'idle' || other.message.kind !== kind) continue
      if (kind === 'mailbox') end(other, 'given up', deaf)
      else if (kind === 'answer') other.onlyOnce ??= deaf
    }
    if (kind === 'report' && letter.total < roundsMax) park(letter)
    else end(letter, 'given up', reason)
  }

  const onSent = (letter: Letter): void => {
    store.messages.noteAttempt(letter.message.id)
    if (letter.message.number === undefined) end(letter, 'sent')
    else tryAgain(letter, undefined)
  }

  const tryAgain = (letter: Letter, refusal: string | undefined): void => {
    letter.attempts++
    letter.total++
    letter.state = 'unheard'
    const { waitMs, next } = retryAfter(letter.attempts, options, parts.random)
    letter.cancel = clock.at(clock.monotonicMs() + waitMs, () => {
      const times = `${letter.attempts} transmission${letter.attempts === 1 ? '' : 's'}`
      if (letter.onlyOnce !== undefined) giveUp(letter, letter.onlyOnce)
      else if (next === 'give up') giveUp(letter, refusal ?? `not acknowledged after ${times}`)
      else transmit(letter)
    })
    pump(letter.message.to)
  }

  const onOutcome = (letter: Letter, outcome: TransmitOutcome): void => {
    // It may have been acknowledged while a repetition of it still waited for the channel.
    if (stopped || !letters.has(letter)) return
    if (outcome.kind === 'sent') onSent(letter)
    else if (outcome.kind === 'expired') end(letter, 'expired', outcome.reason)
    else if (outcome.kind === 'refused') {
      // A transmission may be cut, or its queue full: that passes. A radio that may not send at all does not.
      if (parts.transmitter.blockedBy(letter.message.radio) === outcome.reason) {
        end(letter, 'given up', outcome.reason)
      } else tryAgain(letter, outcome.reason)
    }
  }

  const transmit = (letter: Letter): void => {
    const { message } = letter
    if (clock.monotonicMs() >= letter.deadlineMs) {
      end(letter, 'expired', 'too late to be of use')
      return
    }
    const payload = payloadOf(message)
    if (!payload.ok) {
      end(letter, 'given up', payload.reason)
      return
    }
    letter.state = 'on-air'
    letter.cancel = undefined
    const { to, text } = message
    parts.transmitter.send({
      payload: payload.value,
      path: parts.pathTo(to),
      radio: message.radio,
      priority: priorityOf(message),
      notAfterMs: letter.deadlineMs,
      station: to,
      reference: messageReference(message.id),
      text,
      onEnd: (outcome) => onOutcome(letter, outcome),
    })
  }

  /** Starts what may be started: in order within a lane, so many unacknowledged at a time. */
  const pump = (station: string): void => {
    if (stopped) return
    for (const own of inLanes(letters.to(station))) {
      let busy = own.filter(({ state }) => state === 'on-air' || state === 'unheard').length
      for (const letter of own) {
        if (busy >= options.window) break
        // one that was sent may have ended others
        if (letter.state !== 'idle' || !letters.has(letter)) continue
        busy++
        transmit(letter)
      }
    }
  }

  const add = (messages: readonly MessageRecord[]): void => {
    const wallMs = parts.clockTrust.trusted() ? clock.wallMs() : undefined
    for (const message of messages) {
      const letter = letterFor(message, clock.monotonicMs(), wallMs)
      letters.add(letter)
      if (letter.state === 'parked') expireLater(letter)
    }
    for (const station of new Set(messages.map(({ to }) => to))) pump(station)
  }

  const find = (from: string, number: string): Letter | undefined =>
    letters.to(from).find(({ message }) => message.number === number)

  /** An acknowledgement that comes after its message was given up still counts. */
  const endLate = (from: string, number: string, state: 'acknowledged' | 'rejected'): boolean => {
    const message = store.reading('a message', undefined, () =>
      store.messages.findByNumber(from, number),
    )
    if (message === undefined) return false
    if (message.state !== 'given up' && message.state !== 'expired') return true
    const reason = `late: it was ${message.state}`
    const ended = store.durably('a late acknowledgement', () => {
      store.messages.end(message.id, state, clock.wallMs(), reason)
      return parts.onEnd(message, state, reason)
    })
    note(state, message.text, { ...detailOf(message), reason })
    if (ended.ok) add(ended.value)
    return true
  }

  return {
    add,
    get openCount() {
      return letters.count
    },
    get parkedCount() {
      return letters.all().filter(({ state }) => state === 'parked').length
    },
    acknowledged(from, number, how) {
      const letter = find(from, number)
      if (letter === undefined) return endLate(from, number, 'acknowledged')
      end(letter, 'acknowledged', how)
      return true
    },
    rejected(from, number) {
      const letter = find(from, number)
      if (letter === undefined) return endLate(from, number, 'rejected')
      end(letter, 'rejected', 'by its receiver')
      return true
    },
    sendAgain(questionId) {
      const wallMs = clock.wallMs()
      const revived = store.durably('answers that are sent again', () =>
        store.messages
          .ofQuestion(questionId)
          .filter(
            ({ state, reason }) => ['given up', 'expired'].includes(state) && reason !== newer,
          )
          .map(({ id }) => store.messages.revive(id, wallMs + options.notAfterMs)),
      )
      if (revived.ok) add(revived.value)
    },
    newerQuestion(from, questionId) {
      for (const letter of letters.to(from)) {
        const { kind, questionId: own } = letter.message
        if (kind !== 'answer' || own === undefined || own >= questionId) continue
        letter.onlyOnce = newer
        if (letter.state === 'unheard') end(letter, 'given up', newer)
      }
    },
    stationHeard(call) {
      for (const letter of letters.to(call)) {
        if (letter.state !== 'parked') continue
        letter.cancel?.()
        letter.state = 'idle'
        letter.attempts = 0
        store.durably('a message that waited', () =>
          store.messages.setState(letter.message.id, 'waiting'),
        )
      }
      pump(call)
    },
    resend(call) {
      const own = letters.to(call)
      for (const letter of own) {
        if (letter.state !== 'unheard') continue
        letter.cancel?.()
        letter.attempts = Math.max(0, letter.attempts - 1)
        transmit(letter)
      }
      return own.length
    },
    hasOpen: (mailboxId) => letters.all().some(({ message }) => message.mailboxId === mailboxId),
    stop() {
      stopped = true
      for (const letter of letters.all()) letter.cancel?.()
    },
  }
}
