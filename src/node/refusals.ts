import { formatMessage } from '../aprs/format.js'
import type { Clock } from '../runtime/clock.js'
import type { MessageRecord } from '../store/messages.js'
import type { QuestionRecord } from '../store/questions.js'
import type { Store } from '../store/store.js'
import type { Wording } from '../words/air/wording.js'
import { questionReference } from './journal.js'
import type { WordingFor } from './nodeWording.js'
import type { Transmitter } from './transmitter.js'

/** Words to who gets no answer: one message without a number, sent once. */
export interface Refusals {
  /**
   * To who was acknowledged: it goes out as the answer would have. Inside the transaction that ends the question or its answer.
   * @returns what the outbox is to send
   */
  owed(question: QuestionRecord): MessageRecord[]
  /** The same, where the database cannot keep it. */
  owedAtOnce(question: QuestionRecord): void
  /** Beside a rejection, or in place of one: only where there is airtime to spare. */
  polite(
    to: Pick<QuestionRecord, 'id' | 'from' | 'radio' | 'text'>,
    words: (wording: Wording) => string,
  ): void
}

/** Later than that nobody remembers having asked. */
const owedMs = 30 * 60_000
/** Who was refused tries again after a while, or has gone. */
const politeMs = 2 * 60_000

export function refusals(parts: {
  readonly clock: Clock
  readonly store: Store
  readonly transmitter: Transmitter
  readonly pathTo: (call: string) => readonly string[]
  readonly wording: WordingFor
}): Refusals {
  const { clock, store, transmitter, pathTo, wording } = parts

  const send = (
    { id, from, radio }: Pick<QuestionRecord, 'id' | 'from' | 'radio'>,
    text: string,
    { priority, lifeMs }: { priority: 'answer' | 'refusal'; lifeMs: number },
  ): void => {
    transmitter.send({
      payload: formatMessage({ addressee: from, text }),
      path: pathTo(from),
      ...{ radio, priority, text, station: from },
      notAfterMs: clock.monotonicMs() + lifeMs,
      reference: questionReference(id),
    })
  }

  return {
    owed({ id, from, radio, text: asked }) {
      const wallMs = clock.wallMs()
      const text = wording(asked).say('noTime')
      const refusal = store.messages.insert({
        ...{ kind: 'refusal', to: from, number: undefined, replyTo: undefined, text },
        ...{ questionId: id, mailboxId: undefined, radio, state: 'waiting' },
        createdWallMs: wallMs,
        notAfterWallMs: wallMs + owedMs,
      })
      return [refusal]
    },
    owedAtOnce: (question) =>
      send(question, wording(question.text).say('noTime'), {
        ...{ priority: 'answer', lifeMs: owedMs },
      }),
    polite: (question, words) =>
      send(question, words(wording(question.text)), { priority: 'refusal', lifeMs: politeMs }),
  }
}
