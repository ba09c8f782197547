import type { DirectedQueryPayload, MessagePayload } from '../aprs/types.js'
import type { Clock } from '../runtime/clock.js'
import type { Store } from '../store/store.js'
import { acknowledgements } from './acknowledgements.js'
import type { Heard } from './intake.js'
import { type Journal, questionReference } from './journal.js'
import type { NodeOptions } from './options.js'
import type { Outbox } from './outbox.js'
import type { QueryReply } from './queries.js'
import type { QueryReplies } from './queryReplies.js'
import type { Transmitter } from './transmitter.js'

/** Queries with a number are repeated until they are acknowledged, as any message is: they are kept like questions. */
export interface NumberedQueries {
  /**
   * @param refusalOf why a query that was not heard before gets no reply
   * @returns why nothing is sent
   */
  answer(
    heard: Heard,
    asked: MessagePayload,
    reply: QueryReply,
    refusalOf: () => string | undefined,
  ): string | undefined
  stop(): void
}

export interface NumberedQueryParts {
  readonly clock: Clock
  /** unique over restarts, databases and processes */
  readonly nextId: () => string
  readonly store: Store
  readonly note: Journal
  readonly options: NodeOptions
  readonly transmitter: Transmitter
  readonly outbox: Outbox
  readonly replies: QueryReplies
  readonly pathTo: (call: string) => readonly string[]
}

export function numberedQueries(parts: NumberedQueryParts): NumberedQueries {
  const { clock, store, note, options, replies } = parts
  const responses = acknowledgements(parts)

  const keep = (
    { from, frame }: Heard,
    { addressee, number, text }: MessagePayload,
    reply: QueryReply,
    refusal: string | undefined,
  ) => {
    const state = refusal === undefined ? 'answered' : 'refused'
    return store.durably('a query', () => {
      const question = store.questions.insert({
        ...{ ownPart: parts.nextId(), from, addressee, number, text },
        ...{ radio: frame.radio, heardWallMs: frame.heardAtWallMs },
      })
      store.questions.end(question.id, state, clock.wallMs(), refusal)
      const isMessage = refusal === undefined && reply.kind === 'message'
      return {
        question: { ...question, state, reason: refusal },
        messages: isMessage ? [replies.insert({ from, frame }, reply.text, question.id)] : [],
      } as const
    })
  }

  return {
    answer(heard, asked, reply, refusalOf) {
      const { from, frame } = heard
      const { text, number } = asked
      const known = store.reading('a query', undefined, () =>
        store.questions.findCopy(from, number, text, options.copies.numberedMs),
      )
      if (known !== undefined) {
        store.questions.heardAgain(known.id)
        const response = known.state === 'refused' ? 'reject' : 'acknowledge'
        responses.heardAgain(known, heard, asked, response)
        return `heard again; it was ${known.state} already`
      }
      const refusal = refusalOf() ?? (reply.kind === 'none' ? reply.reason : undefined)
      const kept = keep(heard, asked, reply, refusal)
      if (!kept.ok) return 'it could not be kept in the database, so it is not acknowledged'
      const { question, messages } = kept.value
      const reference = questionReference(question.id)
      const detail = { station: from, radio: frame.radio, reference }
      note('asked', text, detail)
      responses.first(question, heard, asked, refusal === undefined ? 'acknowledge' : 'reject')
      if (refusal !== undefined) {
        note('refused', text, { ...detail, reason: refusal })
        return refusal
      }
      parts.outbox.add(messages)
      if (messages.length === 0) replies.send(reply, heard)
      return undefined
    },
    stop: () => responses.stop(),
  }
}

/** The message that a query is when its sender numbered it; undefined without a number. */
export function numberedMessage(query: DirectedQueryPayload): MessagePayload | undefined {
  const { addressee, target, numberAsSent } = query
  if (numberAsSent === undefined) return undefined
  const text = `?${query.query}${target === undefined ? '' : ` ${target}`}`
  return { kind: 'message', addressee, text, number: numberAsSent.split('}')[0]!, numberAsSent }
}
