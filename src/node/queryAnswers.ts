import type { DirectedQueryPayload, MessagePayload } from '../aprs/types.js'
import type { Cancel, Clock } from '../runtime/clock.js'
import type { Random } from '../runtime/random.js'
import type { MessageRecord } from '../store/messages.js'
import type { Store } from '../store/store.js'
import { acknowledgements } from './acknowledgements.js'
import type { Beacons } from './beacons.js'
import type { Heard } from './intake.js'
import { type Journal, questionReference } from './journal.js'
import type { NodeOptions } from './options.js'
import type { Outbox } from './outbox.js'
import type { QueryReply } from './queries.js'
import { rateLimit } from './rateLimit.js'
import type { Transmitter } from './transmitter.js'

/** Stations wait a random time before they answer a query to everybody, or they would all answer at once. */
const generalWaitMs = { least: 5_000, more: 55_000 }
const generalRepliesMax = 2

/** Does what the reference's queries ask for. */
export interface QueryAnswers {
  /** @returns why nothing is answered */
  answer(heard: Heard, replies: readonly QueryReply[]): string | undefined
  stop(): void
}

export function queryAnswers(parts: {
  readonly clock: Clock
  readonly random: Random
  /** unique over restarts, databases and processes */
  readonly nextId: () => string
  readonly store: Store
  readonly note: Journal
  readonly options: NodeOptions
  readonly transmitter: Transmitter
  readonly outbox: Outbox
  readonly beacons: Beacons
  readonly pathTo: (call: string) => readonly string[]
}): QueryAnswers {
  const { clock, store, note, options, outbox, beacons } = parts
  const responses = acknowledgements(parts)
  const limit = rateLimit(options.limits.windowMs)
  const waiting = new Set<Cancel>()

  /** Inside a transaction. */
  const insertReply = (heard: Heard, text: string, questionId?: number): MessageRecord => {
    const wallMs = clock.wallMs()
    return store.messages.insert({
      kind: 'reply',
      to: heard.from,
      number: undefined,
      replyTo: undefined,
      text,
      questionId,
      mailboxId: undefined,
      radio: heard.frame.radio,
      state: 'waiting',
      createdWallMs: wallMs,
      notAfterWallMs: wallMs + options.answers.notAfterMs,
    })
  }

  const message = (heard: Heard, text: string): void => {
    const kept = store.durably('a reply to a query', () => insertReply(heard, text))
    if (kept.ok) outbox.add([kept.value])
  }

  const carryOut = (reply: QueryReply, heard: Heard): void => {
    if (reply.kind === 'beacon') beacons.send(reply.beacon)
    else if (reply.kind === 'message') message(heard, reply.text)
    else if (reply.kind === 'resend' && outbox.resend(heard.from) === 0) {
      message(heard, 'No messages for you')
    }
  }

  const later = (run: () => void): void => {
    const atMs = clock.monotonicMs() + generalWaitMs.least + generalWaitMs.more * parts.random()
    const cancel = clock.at(atMs, () => {
      waiting.delete(cancel)
      run()
    })
    waiting.add(cancel)
  }

  const overLimit = (heard: Heard): string | undefined => {
    const general = heard.payload.kind === 'query'
    const most = general ? generalRepliesMax : options.limits.perStation
    const count = limit.note(general ? '' : heard.from, clock.monotonicMs())
    return count > most ? 'rate limit of queries' : undefined
  }

  /** A query with a number is repeated until it is acknowledged, as any message is: it is kept like a question. */
  const answerNumbered = (heard: Heard, asked: MessagePayload, reply: QueryReply) => {
    const { from, frame } = heard
    const { text, number } = asked
    const known = store.reading('a query', undefined, () =>
      store.questions.findCopy(from, number, text, options.copies.numberedMs),
    )
    if (known !== undefined) {
      store.questions.heardAgain(known.id)
      responses.heardAgain(
        known,
        heard,
        asked,
        known.state === 'refused' ? 'reject' : 'acknowledge',
      )
      return `heard again; it was ${known.state} already`
    }
    const refusal = overLimit(heard) ?? (reply.kind === 'none' ? reply.reason : undefined)
    const state = refusal === undefined ? 'answered' : 'refused'
    const kept = store.durably('a query', () => {
      const { addressee } = asked
      const question = store.questions.insert({
        ...{ ownPart: parts.nextId(), from, addressee, number, text },
        ...{ radio: frame.radio, heardWallMs: frame.heardAtWallMs },
      })
      store.questions.end(question.id, state, clock.wallMs(), refusal)
      const isMessage = refusal === undefined && reply.kind === 'message'
      return {
        question: { ...question, state, reason: refusal },
        messages: isMessage ? [insertReply(heard, reply.text, question.id)] : [],
      } as const
    })
    if (!kept.ok) return 'it could not be kept in the database, so it is not acknowledged'
    const { question, messages } = kept.value
    const detail = { station: from, radio: frame.radio, reference: questionReference(question.id) }
    note('asked', text, detail)
    responses.first(question, heard, asked, refusal === undefined ? 'acknowledge' : 'reject')
    if (refusal !== undefined) {
      note('refused', text, { ...detail, reason: refusal })
      return refusal
    }
    outbox.add(messages)
    if (messages.length === 0) carryOut(reply, heard)
    return undefined
  }

  return {
    answer(heard, replies) {
      const { payload } = heard
      const asked = payload.kind === 'directedQuery' ? numberedMessage(payload) : undefined
      if (asked !== undefined) return answerNumbered(heard, asked, replies[0]!)
      const refusal = overLimit(heard)
      if (refusal !== undefined) return refusal
      let reason: string | undefined
      for (const reply of replies) {
        if (reply.kind === 'none') reason = reply.reason
        else if (payload.kind === 'query') later(() => carryOut(reply, heard))
        else carryOut(reply, heard)
      }
      return reason
    },
    stop() {
      responses.stop()
      for (const cancel of waiting) cancel()
      waiting.clear()
    },
  }
}

/** The message that a query is when its sender numbered it; undefined without a number. */
function numberedMessage(query: DirectedQueryPayload): MessagePayload | undefined {
  const { addressee, target, numberAsSent } = query
  if (numberAsSent === undefined) return undefined
  const text = `?${query.query}${target === undefined ? '' : ` ${target}`}`
  return { kind: 'message', addressee, text, number: numberAsSent.split('}')[0]!, numberAsSent }
}
