import type { Clock } from '../runtime/clock.js'
import type { ClockTrust } from '../runtime/clockTrust.js'
import type { Random } from '../runtime/random.js'
import type { Vocabulary } from '../services/asking/vocabulary.js'
import type { NamesView } from '../services/event/namesView.js'
import type { Service } from '../services/service.js'
import type { MessageRecord } from '../store/messages.js'
import type { Store } from '../store/store.js'
import { acknowledgements } from './acknowledgements.js'
import { admission } from './admission.js'
import { answering, type ContextFor } from './answering.js'
import { type Conversations, conversations } from './conversation.js'
import { type EmergencyAnswers, emergencyAnswers } from './emergencyAnswers.js'
import type { Journal } from './journal.js'
import { type KeptByServices, keptByServices } from './keptByServices.js'
import { type Mail, mail } from './mail.js'
import type { MailParts } from './mailParts.js'
import type { WordingFor } from './nodeWording.js'
import type { NodeOptions } from './options.js'
import { type Outbox, outbox } from './outbox.js'
import { ownWords } from './ownWords.js'
import { questionEnding } from './questionEnding.js'
import { refusals } from './refusals.js'
import { type ServiceActing, serviceActing } from './serviceActs.js'
import { serviceMessages } from './serviceMessages.js'
import type { Tally } from './tally.js'
import type { Transmitter } from './transmitter.js'
import { type Watching, watching } from './watching.js'

/** Everything that has to do with messages, to and from the node. */
export interface Conversing {
  readonly conversations: Conversations
  readonly outbox: Outbox
  readonly mail: Mail
  readonly emergencies: EmergencyAnswers
  readonly acting: ServiceActing
  readonly watches: Watching
  /** A frame of this station was heard: who acts on it does. */
  stationHeard(call: string): void
  readonly storage: KeptByServices
  /** Takes up what a former run accepted and did not answer. */
  resume(): void
  /** questions that are being answered now */
  readonly openQuestionCount: number
  stop(): void
}

export interface ConversingParts {
  readonly clock: Clock
  readonly clockTrust: ClockTrust
  readonly bootId?: string | undefined
  /** unique over restarts, databases and processes */
  readonly nextId: () => string
  readonly random: Random
  readonly store: Store
  readonly note: Journal
  readonly tally: Tally
  readonly options: NodeOptions
  readonly wording: WordingFor
  readonly services: readonly Service[]
  readonly vocabulary?: Vocabulary | undefined
  readonly transmitter: Transmitter
  readonly pathTo: (call: string) => readonly string[]
  /** inside a transaction */
  readonly newNumber: (call: string) => string
  readonly contextFor: (mail: Mail) => ContextFor
  readonly emailEnded?: MailParts['emailEnded']
  readonly withdrawElsewhere?: MailParts['withdrawElsewhere']
  /** the tactical names of an event; absent where none is configured */
  readonly names?: NamesView | undefined
  /** local time at which the quiet hours that hold now are over */
  readonly quietUntil: () => string | undefined
  /** where a station was heard last, or the first radio */
  readonly radioFor: (call: string) => number
  /** of a mailbox entry: it came from another node, which tells its sender; absent where there is none */
  readonly isFromElsewhere?: ((questionId: string) => boolean) | undefined
}

/** Wires the parts that converse; each is given what it needs of the others. */
export function conversing(given: ConversingParts): Conversing {
  const said = ownWords(given.clock)
  const transmitter = said.tap(given.transmitter)
  const parts = { ...given, transmitter }
  const { clock, store, options } = parts
  const responses = acknowledgements(parts)
  const refused = refusals(parts)
  // Mail sends through the outbox, and the outbox tells mail what became of it.
  let messages: Outbox
  const mailbox = mail({ ...parts, outbox: () => messages })
  const calls = emergencyAnswers({ ...parts, outbox: () => messages })

  /** Who was acknowledged, and of whose answer nothing could be sent, is told at least that. */
  const onLost = ({ kind, questionId, to }: MessageRecord): MessageRecord[] => {
    if (kind === 'emergency') calls.lost(to)
    if (questionId === undefined || kind === 'refusal') return []
    const question = store.questions.find(questionId)
    return question && responses.isAcknowledged(question) ? refused.owed(question) : []
  }
  messages = outbox({ ...parts, options: options.answers, onEnd: mailbox.carrierEnded, onLost })

  const admitted = admission({
    ...{ clock, transmitter },
    get notAfterMs() {
      return options.answers.notAfterMs
    },
    promised: () => messages.promised(),
  })
  const shared = {
    ...parts,
    said,
    outbox: messages,
    admission: admitted,
    refusals: refused,
    emergencies: calls,
  }
  const ending = questionEnding({
    ...{ ...shared, mail: mailbox, isAcknowledged: responses.isAcknowledged },
  })
  const watches = watching({ ...parts, outbox: messages })
  const storage = keptByServices({
    ...{ store, serviceMessages: serviceMessages(parts), onChanged: watches.changed },
  })
  const acting = serviceActing({
    ...{ ...parts, storage, outbox: messages, call: options.call },
    contextFor: parts.contextFor(mailbox),
  })
  const answers = answering({
    ...{ ...shared, ending },
    contextFor: parts.contextFor(mailbox),
    storage,
  })
  const talk = conversations({ ...shared, acknowledgements: responses, answering: answers })

  return {
    conversations: talk,
    outbox: messages,
    mail: mailbox,
    emergencies: calls,
    acting,
    watches,
    stationHeard(call) {
      acting.heard(call)
      watches.heard(call)
    },
    storage,
    resume: answers.resume,
    get openQuestionCount() {
      return answers.openCount
    },
    stop() {
      calls.stop()
      acting.stop()
      watches.stop()
      answers.stop()
      responses.stop()
      messages.stop()
      mailbox.stop()
    },
  }
}
