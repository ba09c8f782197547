import type { Clock } from '../runtime/clock.js'
import type { ClockTrust } from '../runtime/clockTrust.js'
import { errorText } from '../runtime/errorText.js'
import { setNewest } from '../runtime/setNewest.js'
import type { Vocabulary } from '../services/asking/vocabulary.js'
import { type Asked, type Dispatched, dispatch } from '../services/dispatch.js'
import type {
  Service,
  ServiceContext,
  ServiceEffects,
  ServiceStorage,
} from '../services/service.js'
import type { QuestionRecord } from '../store/questions.js'
import type { Store } from '../store/store.js'
import type { Wording } from '../words/air/wording.js'
import { type AddresseeKind, addresseeAgain, offerOf } from './addressing.js'
import type { Admission } from './admission.js'
import type { Journal } from './journal.js'
import type { KeptByServices, QuestionStorage } from './keptByServices.js'
import type { WordingFor } from './nodeWording.js'
import type { NodeOptions } from './options.js'
import { eventDetailOf, type QuestionEnding, type Task } from './questionEnding.js'

/** What a service is told beside the question. */
export type ContextFor = (
  from: string,
  services: readonly Service[],
  written: ServiceStorage & ServiceEffects,
) => ServiceContext

/** Asks the services, and gives what they say to the outbox. */
export interface Answering {
  /** @param question is in the database as accepted */
  begin(question: QuestionRecord, task: Task): void
  /**
   * The same for one whose asker asks again, where this run has not begun it: a safe start left it alone.
   * @returns false where it has
   */
  takeUp(question: QuestionRecord, task: Task): boolean
  /** Has a service do what cannot be kept in the database: nothing is answered. */
  doUnkept(asked: Asked, to: AddresseeKind): void
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
  readonly options: NodeOptions
  readonly services: readonly Service[]
  readonly vocabulary?: Vocabulary | undefined
  readonly wording: WordingFor
  readonly admission: Admission
  readonly ending: QuestionEnding
  readonly contextFor: ContextFor
  readonly storage: KeptByServices
}

/** Longer than any service of ours takes; own services have limits of their own. */
const answerWithinMs = 60_000
/** Far more than radios still repeat. */
const begunMax = 1_000
const tooSlow = ({ say }: Wording): Dispatched => ({
  messages: [say('tooSlow')],
  keyword: '',
  fault: `no answer within ${answerWithinMs / 1000} s`,
})

export function answering(parts: AnsweringParts): Answering {
  const { clock, store, admission, ending } = parts
  const working = new Set<number>()
  /** those of this run; an answer that could not be kept is none that a former run left */
  const begun = new Map<number, true>()
  let stopped = false

  const noteFault = (question: QuestionRecord, reason: string): void =>
    parts.note('fault', question.text, { ...eventDetailOf(question), reason })

  const answer = async (
    question: QuestionRecord,
    task: Task,
    written: QuestionStorage,
  ): Promise<void> => {
    const offer = offerOf(task.to, parts.services, parts.vocabulary)
    const asked = { id: question.uniqueId, from: question.from, text: question.text }
    const context = parts.contextFor(question.from, offer.services, written)
    const dispatched = await withinTime(clock, dispatch(asked, offer, context), () =>
      tooSlow(parts.wording(question.text)),
    )
    working.delete(question.id)
    if (stopped) return // the next start takes it up again
    const { fault, keyword } = dispatched
    if (fault !== undefined) noteFault(question, keyword ? `${keyword}: ${fault}` : fault)
    ending.answered(question, task, dispatched, fault === undefined ? written : undefined)
  }

  const begin = (question: QuestionRecord, task: Task): void => {
    working.add(question.id)
    setNewest(begun, question.id, true, begunMax)
    admission.begin(question.id, { radio: question.radio, turn: task.turn })
    const written = parts.storage.begin()
    answer(question, task, written)
      .finally(() => written.end())
      .catch((error: unknown) => {
        working.delete(question.id)
        admission.end(question.id)
        noteFault(question, errorText(error))
        ending.givenUp(question, 'the node failed to answer it')
      })
  }

  const doUnkept = (asked: Asked, to: AddresseeKind): void => {
    const offer = offerOf(to, parts.services, parts.vocabulary)
    const written = parts.storage.begin()
    void dispatch(asked, offer, parts.contextFor(asked.from, offer.services, written))
      .then(({ fault }) => {
        if (fault !== undefined)
          parts.note('fault', asked.text, { station: asked.from, reason: fault })
      })
      .finally(() => written.end())
  }

  return {
    begin,
    takeUp(question, task) {
      if (working.has(question.id) || begun.has(question.id)) return false
      begin(question, task)
      return true
    },
    doUnkept,
    get openCount() {
      return working.size
    },
    resume() {
      for (const question of store.reading('open questions', [], () => store.questions.open())) {
        const ageMs = clock.wallMs() - question.heardWallMs
        const to = addresseeAgain(question.addressee, parts.options)
        if (!parts.clockTrust.trusted() || ageMs <= parts.options.answers.notAfterMs)
          begin(question, { to, replyTo: undefined, turn: 0 })
        else ending.givenUp(question, `the node was away for ${Math.round(ageMs / 60_000)} minutes`)
      }
    },
    stop() {
      stopped = true
    },
  }
}

/** A service that never answers must not keep its asker waiting for ever. */
const withinTime = (
  clock: Clock,
  dispatched: Promise<Dispatched>,
  late: () => Dispatched,
): Promise<Dispatched> =>
  new Promise((resolve, reject) => {
    const cancel = clock.at(clock.monotonicMs() + answerWithinMs, () => resolve(late()))
    dispatched.then(resolve, reject).finally(cancel)
  })
