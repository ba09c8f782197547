import { beginningThatFits } from '../aprs/messageText.js'
import type { Clock } from '../runtime/clock.js'
import type { ClockTrust } from '../runtime/clockTrust.js'
import { errorText } from '../runtime/errorText.js'
import { type Dispatched, dispatch } from '../services/dispatch.js'
import type { Service, ServiceContext, ServiceStorage } from '../services/service.js'
import type { MessageRecord } from '../store/messages.js'
import type { QuestionRecord } from '../store/questions.js'
import type { Store } from '../store/store.js'
import { type AddresseeKind, addresseeAgain, servicesFor, understoodText } from './addressing.js'
import type { Admission } from './admission.js'
import { type EventDetail, type Journal, questionReference } from './journal.js'
import type { KeptByServices, QuestionStorage } from './keptByServices.js'
import type { Mail } from './mail.js'
import type { ResolvedOptions } from './options.js'
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

/** What a service is told beside the question. */
export type ContextFor = (
  from: string,
  services: readonly Service[],
  storage: ServiceStorage,
) => ServiceContext

/** Asks the services, and gives what they say to the outbox. */
export interface Answering {
  /** @param question is in the database as accepted */
  begin(question: QuestionRecord, task: Task): void
  /** Takes up what a former run accepted and did not answer. */
  resume(): void
  readonly openCount: number
  stop(): void
}

export interface AnsweringParts {
  readonly clock: Clock
  readonly clockTrust: ClockTrust
  readonly store: Store
  readonly note: Journal
  readonly tally: Tally
  readonly options: ResolvedOptions
  readonly services: readonly Service[]
  readonly admission: Admission
  readonly outbox: Outbox
  readonly mail: Mail
  readonly refusals: Refusals
  /** false where its sender was never told that it arrived */
  readonly wasAcknowledged: (question: QuestionRecord) => boolean
  readonly contextFor: ContextFor
  readonly storage: KeptByServices
  /** inside a transaction */
  readonly newNumber: (call: string) => string
}

/** Longer than any service of ours takes; own services have limits of their own. */
const answerWithinMs = 60_000
const tooSlow: Dispatched = {
  messages: ['Sorry, that takes too long just now. Please ask again later.'],
  keyword: '',
  fault: `no answer within ${answerWithinMs / 1000} s`,
}
/** An asker who has waited longer than this is not told that nothing comes. */
const lostAfterMs = 60 * 60_000

export function answering(parts: AnsweringParts): Answering {
  const { clock, store, note, admission } = parts
  const working = new Set<number>()
  let stopped = false

  const detailOf = ({ from, radio, id }: QuestionRecord): EventDetail => ({
    ...{ station: from, radio, reference: questionReference(id) },
  })

  /** It was acknowledged, and no answer of it comes. */
  const giveUp = (question: QuestionRecord, reason: string): void => {
    const isLate = clock.wallMs() - question.heardWallMs > lostAfterMs
    const isOwed = parts.wasAcknowledged(question) && !isLate
    const ended = store.durably('a question that is given up', () => {
      store.questions.end(question.id, 'given up', clock.wallMs(), reason)
      return isOwed ? parts.refusals.owed(question) : []
    })
    note('given up', question.text, { ...detailOf(question), reason })
    parts.tally.note('given up', reason)
    if (ended.ok) parts.outbox.add(ended.value)
    else if (isOwed) parts.refusals.owedAtOnce(question)
  }

  /** A service that never answers must not keep its asker waiting for ever. */
  const withinTime = (dispatched: Promise<Dispatched>): Promise<Dispatched> =>
    new Promise((resolve, reject) => {
      const cancel = clock.at(clock.monotonicMs() + answerWithinMs, () => resolve(tooSlow))
      dispatched.then(resolve, reject).finally(cancel)
    })

  const answer = async (question: QuestionRecord, task: Task): Promise<void> => {
    const written = parts.storage.begin()
    try {
      await answerWith(question, task, written)
    } finally {
      written.end()
    }
  }

  const answerWith = async (
    question: QuestionRecord,
    task: Task,
    written: QuestionStorage,
  ): Promise<void> => {
    const services = servicesFor(task.to, parts.services)
    const text = understoodText(question.text, task.to, services)
    const asked = { id: question.uniqueId, from: question.from, text }
    const context = parts.contextFor(question.from, services, written)
    const dispatched = await withinTime(dispatch(asked, services, context))
    working.delete(question.id)
    if (stopped) return // the next start takes it up again
    const { fault, keyword } = dispatched
    if (fault !== undefined) {
      const reason = keyword ? `${keyword}: ${fault}` : fault
      note('fault', question.text, { ...detailOf(question), reason })
    }
    finish(question, task, dispatched, fault === undefined ? written : undefined)
  }

  /** The end of a question and what it is answered with, in one transaction. */
  const finish = (
    question: QuestionRecord,
    task: Task,
    dispatched: Dispatched,
    written: QuestionStorage | undefined,
  ): void => {
    const kind =
      dispatched.fault !== undefined || dispatched.keyword === undefined ? 'error' : 'answer'
    const texts = shortened(dispatched.messages, question.radio)
    admission.end(
      question.id,
      texts.reduce((sum, text) => sum + octetCountOf({ text }), 0),
    )
    const { id: questionId, from: to, number, radio } = question
    const wallMs = clock.wallMs()
    const ended = store.durably('an answer', (): MessageRecord[] => {
      store.questions.end(questionId, 'answered', wallMs)
      written?.commit()
      const answers = texts.map((text) =>
        store.messages.insert({
          ...{ kind, to, text, questionId, mailboxId: undefined, radio, state: 'waiting' },
          number: number === undefined ? undefined : parts.newNumber(to),
          replyTo: number === undefined ? undefined : task.replyTo,
          createdWallMs: wallMs,
          notAfterWallMs: wallMs + parts.options.answers.notAfterMs,
        }),
      )
      return [...answers, ...parts.mail.collectedBy(question.uniqueId, radio)]
    })
    if (!ended.ok) {
      giveUp(question, 'its answer could not be kept in the database')
      return
    }
    note('answered', texts.join(' / '), detailOf(question))
    parts.outbox.add(ended.value, task.turn)
  }

  /** Where the operator allows it: with much promised already, the first message has to do. */
  const shortened = (texts: readonly string[], radio: number): readonly string[] => {
    const isShort = parts.options.answers.shortWhenBusy && texts.length > 1
    return isShort && admission.isBusy(radio)
      ? [`${beginningThatFits(texts[0]!, shortLength)}..`]
      : texts
  }

  const begin = (question: QuestionRecord, task: Task): void => {
    working.add(question.id)
    admission.begin(question.id, { radio: question.radio, turn: task.turn })
    answer(question, task).catch((error: unknown) => {
      working.delete(question.id)
      admission.end(question.id)
      const reason = errorText(error)
      note('fault', question.text, { ...detailOf(question), reason })
      giveUp(question, 'the node failed to answer it')
    })
  }

  return {
    begin,
    get openCount() {
      return working.size
    },
    resume() {
      for (const question of store.reading('open questions', [], () => store.questions.open())) {
        const ageMs = clock.wallMs() - question.heardWallMs
        const to = addresseeAgain(question.addressee, parts.options)
        if (!parts.clockTrust.trusted() || ageMs <= parts.options.answers.notAfterMs)
          begin(question, { to, replyTo: undefined, turn: 0 })
        else giveUp(question, `the node was away for ${Math.round(ageMs / 60_000)} minutes`)
      }
    },
    stop() {
      stopped = true
    },
  }
}

/** Of 67 characters; two dots say that there is more. */
const shortLength = 65
