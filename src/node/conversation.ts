import type { MessagePayload } from '../aprs/types.js'
import type { Clock } from '../runtime/clock.js'
import type { Understanding } from '../services/asking/understanding.js'
import type { Vocabulary } from '../services/asking/vocabulary.js'
import { understandAsked } from '../services/dispatch.js'
import type { Service } from '../services/service.js'
import type { MessageRecord } from '../store/messages.js'
import type { QuestionRecord } from '../store/questions.js'
import type { Store } from '../store/store.js'
import type { Wording } from '../words/air/wording.js'
import type { Acknowledgements } from './acknowledgements.js'
import { type AddresseeKind, offerOf } from './addressing.js'
import type { Admission } from './admission.js'
import type { Answering } from './answering.js'
import {
  type AskLimits,
  answeredLately,
  askLimits,
  machineReason,
  type Refusal,
} from './askLimits.js'
import type { EmergencyCall } from './emergency.js'
import type { EmergencyAnswers } from './emergencyAnswers.js'
import type { EmergencyTurn } from './emergencyTurns.js'
import type { Heard } from './intake.js'
import { type Journal, questionReference } from './journal.js'
import type { NodeOptions } from './options.js'
import type { Outbox } from './outbox.js'
import type { OwnWords } from './ownWords.js'
import { questionKeeping } from './questionKeeping.js'
import type { Refusals } from './refusals.js'
import type { Tally } from './tally.js'

/** Questions to the node: kept, acknowledged, answered once. */
export interface Conversations {
  /**
   * A message to the node or one of its names; never an acknowledgement, a bulletin or a query of the reference.
   * @param call given where it calls for help: it is answered with the operator's words, and where a service understands it,
   *   too, as a message left for somebody, the service's answer follows
   */
  take(heard: Heard, payload: MessagePayload, to: AddresseeKind, call?: EmergencyCall): void
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
  readonly vocabulary?: Vocabulary | undefined
  readonly said: OwnWords
  readonly outbox: Outbox
  readonly admission: Admission
  readonly acknowledgements: Acknowledgements
  readonly answering: Answering
  readonly refusals: Refusals
  readonly emergencies: EmergencyAnswers
}

const noAirtime =
  'no airtime is left to answer it in time: not acknowledged, so that its radio tries again'
const notItsTurn = 'others wait for airtime, and this station has asked before'
const isEcho = 'an echo: it says our own words'
const busyWords = ({ say }: Wording): string => say('othersWait')

export function conversations(parts: ConversationParts): Conversations {
  const { note, outbox, acknowledgements } = parts
  const limits = askLimits(parts.clock, parts.options)
  const keeping = questionKeeping(parts)

  /** What becomes of a question is decided before it is acknowledged: who is acknowledged gets an answer. */
  const ask = (
    heard: Heard,
    payload: MessagePayload,
    to: AddresseeKind,
    help: EmergencyTurn | undefined,
  ): void => {
    const { from } = heard
    const { radio } = heard.frame
    const turn = limits.countOf(from)
    const { text } = payload
    const offer = offerOf(to, parts.services, parts.vocabulary)
    const stops = offer.services.some((service) => service.isUrgent?.(from, text) === true)
    const isUrgent = stops || help === 'at once'
    const verdict = isUrgent ? 'admitted' : parts.admission.judge({ radio, turn })
    if (verdict === 'unacknowledged') {
      note('refused', text, { station: from, radio, reason: noAirtime })
      parts.tally.note('not acknowledged', noAirtime)
      return
    }
    const meant = understandAsked({ from, text }, offer)
    const asksService = help === undefined || namesService(text, meant)
    const machine = machineReason(text, heard.destination)
    const refusal = isUrgent
      ? undefined
      : refusalOf({ from, meant, machine, help, asksService }, verdict, limits)
    limits.noteAsked(from)
    const kept = keeping.keep(heard, payload, refusal, (question) =>
      refusal === undefined && (help === 'at once' || help === 'in turn')
        ? answerCall(parts, question, payload, { help, asksService })
        : [],
    )
    if (kept === undefined) {
      if (stops) parts.answering.doUnkept({ id: parts.nextId(), from, text }, to)
      else if (isUrgent) parts.emergencies.answerUnkept(from, radio)
      else if (help === 'in turn') parts.emergencies.lost(from)
      return
    }
    const { question, answers } = kept
    const response = refusal?.how === 'reject' ? 'reject' : 'acknowledge'
    acknowledgements.first(question, heard, payload, response)
    if (refusal === undefined) {
      outbox.newerQuestion(from, question.id)
      outbox.add(answers, turn)
      if (asksService || answers.length === 0)
        parts.answering.begin(question, { to, replyTo: replyTo(payload), turn })
    } else if (refusal.words !== undefined && limits.noteTold(from))
      parts.refusals.polite(question, refusal.words)
  }

  return {
    take(heard, payload, to, call) {
      const known = keeping.copyOf(heard.from, payload)
      if (isOurs(parts, heard, payload, to, known !== undefined))
        return echoed(parts, heard, payload)
      const isNew = known === undefined || (call !== undefined && known.reason === answeredLately)
      const help = isNew ? call && parts.emergencies.turnOf(heard.from) : 'not again'
      // Whoever goes on calling for help when that time is over is answered anew.
      if (known === undefined || help !== 'not again') ask(heard, payload, to, help)
      else
        heardAgain({ ...parts, limits }, heard, payload, {
          ...known,
          ...{ to, isCall: call !== undefined },
        })
    },
  }
}

/** A copy, or its radio's next try: acknowledged again, and what became of its answer goes out again. */
function heardAgain(
  {
    store,
    note,
    outbox,
    acknowledgements,
    answering,
    emergencies,
    limits,
  }: ConversationParts & {
    readonly limits: AskLimits
  },
  heard: Heard,
  payload: MessagePayload,
  known: QuestionRecord & { readonly to: AddresseeKind; readonly isCall: boolean },
): void {
  const { radio } = heard.frame
  const reference = questionReference(known.id)
  store.questions.heardAgain(known.id)
  const reason =
    known.state === 'accepted'
      ? 'heard again; its answer is being worked on'
      : `heard again; it was ${known.state} already`
  note('ignored', known.text, { station: known.from, radio, reference, reason })
  acknowledgements.heardAgain(known, heard, payload, limits.respondTo(known))
  const { to, isCall } = known
  const turn = limits.countOf(known.from)
  const isTakenUp =
    known.state === 'accepted' && answering.takeUp(known, { to, replyTo: replyTo(payload), turn })
  if (known.state !== 'answered' && !isTakenUp) return
  if (isCall && emergencies.wasAnsweredElse(known.from, known.id)) return
  // A safe start knows of nobody whom it answered before: the next call must not be answered as well.
  if (outbox.sendAgain(known.id) && isCall) emergencies.sentAgain(known.from, known.id)
}

/** Inside the transaction that keeps the question. */
function answerCall(
  { store, clock, emergencies }: ConversationParts,
  question: QuestionRecord,
  payload: MessagePayload,
  { help, asksService }: { help: 'at once' | 'in turn'; asksService: boolean },
): MessageRecord[] {
  if (!asksService) store.questions.end(question.id, 'answered', clock.wallMs())
  return [emergencies.insert(question, help, replyTo(payload))]
}

/** It got what we sent, and would send back whatever comes next, acknowledgements too. */
function echoed(
  { note, outbox }: ConversationParts,
  { from, frame }: Heard,
  { text }: MessagePayload,
): void {
  note('ignored', text, { station: from, radio: frame.radio, reason: isEcho })
  outbox.endAll(from, isEcho)
}

/** A plain question that we wrote ourselves, as an example, is answered once; more often it is an echo's. */
function isOurs(
  { said, services, vocabulary }: ConversationParts,
  { from }: Heard,
  { text }: MessagePayload,
  to: AddresseeKind,
  isKnown: boolean,
): boolean {
  if (!said.isEcho(from, text)) return false
  const meant = understandAsked({ from, text }, offerOf(to, services, vocabulary))
  // A club's own service takes any text: what it said may begin with its keyword, and is no question for that.
  const isOfOwn = meant.kind === 'service' && meant.service.isOwn === true
  const isPlain = namesService(text, meant) && !isOfOwn && !/[:[\]]/.test(text)
  return !(isPlain && (isKnown || said.excuse(from, text)))
}

interface Asked {
  readonly from: string
  readonly meant: Understanding
  /** why it is a machine's; undefined when it is not */
  readonly machine: string | undefined
  readonly help: EmergencyTurn | undefined
  readonly asksService: boolean
}

function refusalOf(
  { from, meant, machine, help, asksService }: Asked,
  verdict: 'admitted' | 'refused',
  limits: AskLimits,
): (Refusal & { readonly words?: (wording: Wording) => string }) | undefined {
  if (machine !== undefined) return { reason: machine, how: 'silence' }
  // Its answer is on the way or was sent: told to ask later, it would take the more airtime, and be sent away in distress.
  if (help === 'not again' && !asksService) return { reason: answeredLately, how: 'silence' }
  const limited = limits.refusalOf(from)
  if (limited !== undefined) return { ...limited, words: limits.politeWords }
  if (verdict === 'refused') return { reason: notItsTurn, how: 'reject', words: busyWords }
  if (help === 'in turn') return undefined
  return limits.refusalOfMeaning(from, meant)
}

/** In a call for help only a keyword in front asks a service besides. */
const namesService = (text: string, meant: Understanding): boolean =>
  meant.kind === 'service' && text.trim().toLowerCase().startsWith(meant.service.keyword)

/** The asker's number where it understands a reply that acknowledges. */
const replyTo = (payload: MessagePayload): string | undefined =>
  payload.replyAcknowledges === undefined ? undefined : payload.number
