import type { MessagePayload } from '../aprs/types.js'
import type { Clock } from '../runtime/clock.js'
import type { MessageRecord } from '../store/messages.js'
import type { QuestionRecord } from '../store/questions.js'
import type { Store } from '../store/store.js'
import type { Refusal } from './askLimits.js'
import type { Heard } from './intake.js'
import { type Journal, questionReference } from './journal.js'
import type { NodeOptions } from './options.js'
import type { Tally } from './tally.js'

/** A question that is in the database. */
export interface KeptQuestion {
  readonly question: QuestionRecord
  /** what it is answered with at once */
  readonly answers: readonly MessageRecord[]
}

/** Questions in the database: a copy is found there, and each is there before anything is said of it. */
export interface QuestionKeeping {
  /** the question that this one repeats */
  copyOf(from: string, payload: MessagePayload): QuestionRecord | undefined
  /**
   * @param answersTo inside the same transaction: what it is answered with at once
   * @returns undefined where the database does not take it: it must not be acknowledged then
   */
  keep(
    heard: Heard,
    payload: MessagePayload,
    refusal: Refusal | undefined,
    answersTo: (question: QuestionRecord) => MessageRecord[],
  ): KeptQuestion | undefined
}

export function questionKeeping(parts: {
  readonly clock: Clock
  /** unique over restarts, databases and processes */
  readonly nextId: () => string
  readonly store: Store
  readonly note: Journal
  readonly tally: Tally
  readonly options: NodeOptions
}): QuestionKeeping {
  const { clock, store, note, tally } = parts
  const { copies } = parts.options
  return {
    copyOf(from, { number, text }) {
      const windowMs = number === undefined ? copies.unnumberedMs : copies.numberedMs
      return store.reading('a question', undefined, () =>
        store.questions.findCopy(from, number, text, windowMs),
      )
    },
    keep({ from, frame }, { addressee, number, text }, refusal, answersTo) {
      const { radio, heardAtWallMs: heardWallMs } = frame
      const kept = store.durably('a question', (): KeptQuestion => {
        const ownPart = parts.nextId()
        const asked = { from, addressee, number, text, radio, heardWallMs, ownPart }
        const question = store.questions.insert(asked)
        if (refusal !== undefined)
          store.questions.end(question.id, 'refused', clock.wallMs(), refusal.reason)
        return { question, answers: answersTo(question) }
      })
      if (!kept.ok) {
        const reason = 'it could not be kept in the database, so it is not acknowledged'
        note('refused', text, { station: from, radio, reason })
        tally.note('not acknowledged', reason)
        return undefined
      }
      const reference = questionReference(kept.value.question.id)
      note('asked', text, { station: from, radio, reference })
      if (refusal !== undefined) {
        const { reason } = refusal
        note('refused', text, { station: from, radio, reference, reason })
        tally.note('refused', reason)
      }
      for (const one of kept.value.answers)
        note('answered', one.text, { station: from, radio, reference })
      return kept.value
    },
  }
}
