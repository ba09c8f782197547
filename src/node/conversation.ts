import type { MessagePayload } from '../aprs/types.js'
import type { Clock } from '../runtime/clock.js'
import { isUnderstood } from '../services/dispatch.js'
import type { Service } from '../services/service.js'
import type { QuestionRecord } from '../store/questions.js'
import type { Store } from '../store/store.js'
import type { Acknowledgements } from './acknowledgements.js'
import { type AddresseeKind, servicesFor, understoodText } from './addressing.js'
import type { Admission } from './admission.js'
import type { Answering } from './answering.js'
import { askLimits, type Refusal } from './askLimits.js'
import type { Heard } from './intake.js'
import { type Journal, questionReference } from './journal.js'
import type { NodeOptions } from './options.js'
import type { Outbox } from './outbox.js'
import { questionKeeping } from './questionKeeping.js'
import type { Refusals } from './refusals.js'
import type { Tally } from './tally.js'

/** Questions to the node: kept, acknowledged, answered once. */
export interface Conversations {
  /** A message to the node or one of its names; never an acknowledgement, a bulletin or a query of the reference. */
  take(heard: Heard, payload: MessagePayload, to: AddresseeKind): void
}

export interface ConversationParts {
  readonly clock: Clock
  /** unique over restarts, databases and processes */
  readonly nextId: () => string
  readonly store: Store
  readonly note: Journal
  readonly tally: Tally
  readonly options: NodeOptions
  readonly services: readonly Service[]
  readonly outbox: Outbox
  readonly admission: Admission
  readonly acknowledgements: Acknowledgements
  readonly answering: Answering
  readonly refusals: Refusals
}

const noAirtime =
  'no airtime is left to answer it in time: not acknowledged, so that its radio tries again'
const notItsTurn = 'others wait for airtime, and this station has asked before'
const busyText = 'Others wait for answers, too. Please ask again in a few minutes.'

export function conversations(parts: ConversationParts): Conversations {
  const { store, note, outbox, acknowledgements } = parts
  const limits = askLimits(parts.clock, parts.options)
  const keeping = questionKeeping(parts)

  /** What becomes of a question is decided before it is acknowledged: who is acknowledged gets an answer. */
  const ask = (heard: Heard, payload: MessagePayload, to: AddresseeKind): void => {
    const { from } = heard
    const { radio } = heard.frame
    const turn = limits.countOf(from)
    const verdict = parts.admission.judge({ radio, turn })
    if (verdict === 'unacknowledged') {
      note('refused', payload.text, { station: from, radio, reason: noAirtime })
      parts.tally.note('not acknowledged', noAirtime)
      return
    }
    const refusal = refusalOf(from, payload.text, to, verdict)
    limits.noteAsked(from)
    const question = keeping.keep(heard, payload, refusal)
    if (question === undefined) return
    const response = refusal?.how === 'reject' ? 'reject' : 'acknowledge'
    acknowledgements.first(question, heard, payload, response)
    if (refusal === undefined) {
      outbox.newerQuestion(from, question.id)
      parts.answering.begin(question, { to, replyTo: replyTo(payload), turn })
    } else if (refusal.text !== undefined && limits.noteTold(from))
      parts.refusals.polite(question, refusal.text)
  }

  const refusalOf = (
    from: string,
    text: string,
    to: AddresseeKind,
    verdict: 'admitted' | 'refused',
  ): (Refusal & { readonly text?: string }) | undefined => {
    const limited = limits.refusalOf(from, text)
    if (limited?.how === 'reject') return { ...limited, text: limits.politeText }
    if (limited !== undefined) return limited
    if (verdict === 'refused') return { reason: notItsTurn, how: 'reject', text: busyText }
    const services = servicesFor(to, parts.services)
    const asked = { from, text: understoodText(text, to, services) }
    if (isUnderstood(asked, services)) return undefined
    return limits.notUnderstood(from)
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
    acknowledgements.heardAgain(known, heard, payload, limits.respondTo(known))
    if (known.state === 'answered') outbox.sendAgain(known.id)
  }

  return {
    take(heard, payload, to) {
      const known = keeping.copyOf(heard.from, payload)
      if (known !== undefined) heardAgain(heard, payload, known)
      else ask(heard, payload, to)
    },
  }
}

/** The asker's number where it understands a reply that acknowledges. */
const replyTo = (payload: MessagePayload): string | undefined =>
  payload.replyAcknowledges === undefined ? undefined : payload.number
