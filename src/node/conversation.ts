import type { MessagePayload } from '../aprs/types.js'
import type { Clock } from '../runtime/clock.js'
import type { ClockTrust } from '../runtime/clockTrust.js'
import { errorText } from '../runtime/errorText.js'
import { type Dispatched, dispatch } from '../services/dispatch.js'
import type { Service, ServiceContext, ServiceStorage } from '../services/service.js'
import type { MessageRecord } from '../store/messages.js'
import type { QuestionRecord } from '../store/questions.js'
import type { Store } from '../store/store.js'
import { acknowledgements } from './acknowledgements.js'
import { type AddresseeKind, addresseeAgain, servicesFor, understoodText } from './addressing.js'
import { askLimits } from './askLimits.js'
import type { Heard } from './intake.js'
import { type Journal, questionReference } from './journal.js'
import type { KeptByServices, QuestionStorage } from './keptByServices.js'
import type { Mail } from './mail.js'
import type { ResolvedOptions } from './options.js'
import type { Outbox } from './outbox.js'
import type { Transmitter } from './transmitter.js'

/** Questions to the node: kept, acknowledged, answered once. */
export interface Conversations {
  /** A message to the node or one of its names; never an acknowledgement, a bulletin or a query of the reference. */
  take(heard: Heard, payload: MessagePayload, to: AddresseeKind): void
  /** Takes up what a former run accepted and did not answer. */
  resume(): void
  readonly openCount: number
  stop(): void
}

export interface ConversationParts {
  readonly clock: Clock
  /** unique over restarts, databases and processes */
  readonly nextId: () => string
  readonly clockTrust: ClockTrust
  readonly store: Store
  readonly note: Journal
  readonly options: ResolvedOptions
  readonly services: readonly Service[]
  readonly transmitter: Transmitter
  readonly outbox: Outbox
  readonly mail: Mail
  readonly contextFor: (
    from: string,
    services: readonly Service[],
    storage: ServiceStorage,
  ) => ServiceContext
  readonly storage: KeptByServices
  readonly pathTo: (call: string) => readonly string[]
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

export function conversations(parts: ConversationParts): Conversations {
  const { clock, store, note, options, outbox } = parts
  const responses = acknowledgements(parts)
  const working = new Set<number>()
  const limits = askLimits(clock, options)
  let stopped = false

  const take = (heard: Heard, payload: MessagePayload, to: AddresseeKind): void => {
    const { from } = heard
    const { number, text } = payload
    const windowMs = number === undefined ? options.copies.unnumberedMs : options.copies.numberedMs
    const known = store.reading('a question', undefined, () =>
      store.questions.findCopy(from, number, text, windowMs),
    )
    if (known !== undefined) heardAgain(heard, payload, known)
    else ask(heard, payload, to)
  }

  const ask = (heard: Heard, payload: MessagePayload, to: AddresseeKind): void => {
    const { from, frame } = heard
    const { radio } = frame
    const refusal = limits.refusalOf(from, payload.text)
    const kept = store.durably('a question', () => {
      const question = store.questions.insert({
        from,
        addressee: payload.addressee,
        number: payload.number,
        text: payload.text,
        radio,
        heardWallMs: frame.heardAtWallMs,
        ownPart: parts.nextId(),
      })
      if (refusal !== undefined && refusal.how !== 'notice') {
        store.questions.end(question.id, 'refused', clock.wallMs(), refusal.reason)
      }
      return question
    })
    if (!kept.ok) {
      const reason = 'it could not be kept in the database, so it is not acknowledged'
      note('refused', payload.text, { station: from, radio, reason })
      return
    }
    const question = kept.value
    const reference = questionReference(question.id)
    note('asked', question.text, { station: from, radio, reference })
    if (refusal !== undefined) {
      note('refused', question.text, { station: from, radio, reference, reason: refusal.reason })
    }
    responses.first(question, heard, payload, refusal?.how === 'reject' ? 'reject' : 'acknowledge')
    if (refusal?.how === 'reject' || refusal?.how === 'silence') return
    outbox.newerQuestion(from, question.id)
    if (refusal === undefined) work(question, to, replyTo(payload))
    else endWith(question, 'refused', [limits.politeText], replyTo(payload), refusal.reason)
  }

  const heardAgain = (heard: Heard, payload: MessagePayload, known: QuestionRecord): void => {
    const { radio } = heard.frame
    const reference = questionReference(known.id)
    store.questions.heardAgain(known.id)
    const reason =
      known.state === 'accepted'
        ? 'heard again; its answer is being worked on'
        : `heard again; it was ${known.state} already`
    note('ignored', known.text, { station: known.from, radio, reference, reason })
    responses.heardAgain(known, heard, payload, limits.respondTo(known))
    if (known.state === 'answered') outbox.sendAgain(known.id)
  }

  const work = (question: QuestionRecord, to: AddresseeKind, reply: string | undefined): void => {
    answer(question, to, reply).catch((error: unknown) => {
      working.delete(question.id)
      const { from: station, radio, text } = question
      const reason = errorText(error)
      note('fault', text, { station, radio, reference: questionReference(question.id), reason })
    })
  }

  /** A service that never answers must not keep its asker waiting for ever. */
  const withinTime = (dispatched: Promise<Dispatched>): Promise<Dispatched> =>
    new Promise((resolve, reject) => {
      const cancel = clock.at(clock.monotonicMs() + answerWithinMs, () => resolve(tooSlow))
      dispatched.then(resolve, reject).finally(cancel)
    })

  const answer = async (
    question: QuestionRecord,
    to: AddresseeKind,
    reply: string | undefined,
  ): Promise<void> => {
    working.add(question.id)
    const written = parts.storage.begin()
    try {
      await answerWith(question, to, reply, written)
    } finally {
      written.end()
    }
  }

  const answerWith = async (
    question: QuestionRecord,
    to: AddresseeKind,
    reply: string | undefined,
    written: QuestionStorage,
  ): Promise<void> => {
    const services = servicesFor(to, parts.services)
    const understood = understoodText(question.text, to, services)
    const dispatched = await withinTime(
      dispatch(
        { id: question.uniqueId, from: question.from, text: understood },
        services,
        parts.contextFor(question.from, services, written),
      ),
    )
    working.delete(question.id)
    if (stopped) return // the next start takes it up again
    const { fault, keyword, messages } = dispatched
    const reference = questionReference(question.id)
    const detail = { station: question.from, radio: question.radio, reference }
    if (fault !== undefined)
      note('fault', question.text, { ...detail, reason: keyword ? `${keyword}: ${fault}` : fault })
    if (keyword === undefined) {
      const reason = limits.machineOf(question.from)
      if (reason !== undefined) {
        store.durably('a refusal', () =>
          store.questions.end(question.id, 'refused', clock.wallMs(), reason),
        )
        note('refused', question.text, { ...detail, reason })
        return
      }
    }
    endWith(
      question,
      'answered',
      messages,
      reply,
      undefined,
      fault === undefined ? written : undefined,
    )
  }

  /** The end of a question and what it is answered with, in one transaction. */
  const endWith = (
    question: QuestionRecord,
    state: 'answered' | 'refused',
    texts: readonly string[],
    reply: string | undefined,
    reason: string | undefined,
    written?: QuestionStorage,
  ): void => {
    const wallMs = clock.wallMs()
    const ended = store.durably('an answer', (): MessageRecord[] => {
      store.questions.end(question.id, state, wallMs, reason)
      written?.commit()
      const answers = texts.map((text) =>
        store.messages.insert({
          kind: 'answer',
          to: question.from,
          number: question.number === undefined ? undefined : parts.newNumber(question.from),
          replyTo: question.number === undefined ? undefined : reply,
          text,
          questionId: question.id,
          mailboxId: undefined,
          radio: question.radio,
          state: 'waiting',
          createdWallMs: wallMs,
          notAfterWallMs: wallMs + options.answers.notAfterMs,
        }),
      )
      return [...answers, ...parts.mail.collectedBy(question.uniqueId, question.radio)]
    })
    const detail = {
      station: question.from,
      radio: question.radio,
      reference: questionReference(question.id),
    }
    if (!ended.ok) {
      const why = 'its answer could not be kept in the database'
      note('given up', question.text, { ...detail, reason: why })
      return
    }
    if (state === 'answered') note('answered', texts.join(' / '), detail)
    outbox.add(ended.value)
  }

  return {
    take,
    get openCount() {
      return working.size
    },
    resume() {
      for (const question of store.reading('open questions', [], () => store.questions.open())) {
        const ageMs = clock.wallMs() - question.heardWallMs
        if (parts.clockTrust.trusted() && ageMs > options.answers.notAfterMs) {
          const reason = `the node was away for ${Math.round(ageMs / 60_000)} minutes`
          store.durably('an old question', () =>
            store.questions.end(question.id, 'given up', clock.wallMs(), reason),
          )
          const { from: station, radio } = question
          const reference = questionReference(question.id)
          note('given up', question.text, { station, radio, reference, reason })
        } else work(question, addresseeAgain(question.addressee, options), undefined)
      }
    },
    stop() {
      stopped = true
      responses.stop()
    },
  }
}

/** The asker's number where it understands a reply that acknowledges. */
const replyTo = (payload: MessagePayload): string | undefined =>
  payload.replyAcknowledges === undefined ? undefined : payload.number
