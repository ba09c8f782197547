import { beginningThatFits } from '../aprs/messageText.js'
import type { Clock } from '../runtime/clock.js'
import type { Dispatched } from '../services/dispatch.js'
import type { MessageRecord, NewMessage } from '../store/messages.js'
import type { QuestionRecord } from '../store/questions.js'
import type { Store } from '../store/store.js'
import type { AddresseeKind } from './addressing.js'
import type { Admission } from './admission.js'
import { type EventDetail, type Journal, questionReference } from './journal.js'
import type { QuestionStorage } from './keptByServices.js'
import type { Mail } from './mail.js'
import type { NodeOptions } from './options.js'
import type { Outbox } from './outbox.js'
import type { Refusals } from './refusals.js'
import type { Tally } from './tally.js'
import { octetCountOf } from './underWay.js'

/** How a question that was taken is to be answered. */
export interface Task {
  readonly to: AddresseeKind
  /** the asker's number where it understands a reply that acknowledges */
  readonly replyTo: string | undefined
  /** as in Outbox.add */
  readonly turn: number
}

/** The two ends of a question that was accepted; each is one transaction. */
export interface QuestionEnding {
  /** @param written what the services keep with the answer; undefined where they failed */
  answered(
    question: QuestionRecord,
    task: Task,
    dispatched: Dispatched,
    written: QuestionStorage | undefined,
  ): void
  /** It was acknowledged, and no answer of it comes. */
  givenUp(question: QuestionRecord, reason: string): void
}

export interface QuestionEndingParts {
  readonly clock: Clock
  readonly store: Store
  readonly note: Journal
  readonly tally: Tally
  readonly options: NodeOptions
  readonly admission: Admission
  readonly outbox: Outbox
  readonly mail: Mail
  readonly refusals: Refusals
  /** false where its sender was never told that it arrived, nor is about to be */
  readonly isAcknowledged: (question: QuestionRecord) => boolean
  /** inside a transaction */
  readonly newNumber: (call: string) => string
}

/** An asker who has waited longer than this is not told that nothing comes. */
const lostAfterMs = 60 * 60_000
/** Of 67 characters; two dots say that there is more. */
const shortLength = 65

export function questionEnding(parts: QuestionEndingParts): QuestionEnding {
  const { clock, store, note, options, admission } = parts

  /** Where the operator allows it: with much promised already, the first message has to do. */
  const shortened = (texts: readonly string[], radio: number): readonly string[] =>
    options.answers.shortWhenBusy && texts.length > 1 && admission.isBusy(radio)
      ? [`${beginningThatFits(texts[0]!, shortLength)}..`]
      : texts

  const givenUp = (question: QuestionRecord, reason: string): void => {
    const isLate = clock.wallMs() - question.heardWallMs > lostAfterMs
    const isOwed = parts.isAcknowledged(question) && !isLate
    const ended = store.durably('a question that is given up', () => {
      store.questions.end(question.id, 'given up', clock.wallMs(), reason)
      return isOwed ? parts.refusals.owed(question) : []
    })
    note('given up', question.text, { ...eventDetailOf(question), reason })
    parts.tally.note('given up', reason)
    if (ended.ok) parts.outbox.add(ended.value)
    else if (isOwed) parts.refusals.owedAtOnce(question)
  }

  return {
    givenUp,
    answered(question, task, dispatched, written) {
      const texts = shortened(dispatched.messages, question.radio)
      const octetCount = texts.reduce((sum, text) => sum + octetCountOf({ text }), 0)
      admission.end(question.id, octetCount)
      const wallMs = clock.wallMs()
      const kind = isError(dispatched) ? 'error' : 'answer'
      const lasts = { createdWallMs: wallMs, notAfterWallMs: wallMs + options.answers.notAfterMs }
      const ended = store.durably('an answer', (): MessageRecord[] => {
        store.questions.end(question.id, 'answered', wallMs)
        const besides = written?.commit(question.uniqueId) ?? []
        const answers = texts.map((text) => {
          const number = question.number === undefined ? undefined : parts.newNumber(question.from)
          const message = messageFor(question, { kind, text, number, replyTo: task.replyTo })
          return store.messages.insert({ ...message, ...lasts })
        })
        const collected = parts.mail.collectedBy(question.uniqueId, question.radio)
        return [...answers, ...collected, ...besides]
      })
      if (!ended.ok) {
        givenUp(question, 'its answer could not be kept in the database')
        return
      }
      note('answered', texts.join(' / '), eventDetailOf(question))
      parts.outbox.add(ended.value, task.turn)
    },
  }
}

export const eventDetailOf = ({ from, radio, id }: QuestionRecord): EventDetail => ({
  ...{ station: from, radio, reference: questionReference(id) },
})

const isError = ({ fault, keyword }: Dispatched): boolean =>
  fault !== undefined || keyword === undefined

/** Who asked without a number gets an answer without one. */
const messageFor = (
  { id, from, radio, number: asked }: QuestionRecord,
  { replyTo, ...message }: Pick<NewMessage, 'kind' | 'text' | 'number' | 'replyTo'>,
): Omit<NewMessage, 'createdWallMs' | 'notAfterWallMs'> => ({
  ...{ ...message, to: from, radio, state: 'waiting', questionId: id, mailboxId: undefined },
  replyTo: asked === undefined ? undefined : replyTo,
})
