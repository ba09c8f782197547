import type { SignalQuality } from '../../dsp/modem/receivedFrame.js'
import type { Clock } from '../runtime/clock.js'
import type { Wordings } from '../words/air/all.js'
import type { TextName } from '../words/air/texts.js'
import type { NamesView } from './event/namesView.js'

/** Degrees, WGS84, north and east positive. */
export interface GeoPosition {
  readonly latitudeDeg: number
  readonly longitudeDeg: number
}

/** A place and how old the knowledge of it is. */
export interface AgedPosition extends GeoPosition {
  readonly ageMs: number
}

/** What somebody asked, already split into its parts. */
export interface Question {
  /**
   * the same for every copy and retry of one question, so that effects can be made once only; unlike any other's, over
   * restarts, databases and rehearsals
   */
  readonly id: string
  /** call sign with SSID, upper case, as heard */
  readonly from: string
  /** the whole text as sent */
  readonly text: string
  /** the words after the keyword */
  readonly words: readonly string[]
  /** the text after the keyword, spaces kept */
  readonly rest: string
}

/** Words of a person, which go out in the characters in which they came; every other text goes out in plain ASCII. */
export interface AsSent {
  readonly asSent: string
}

/**
 * One string is split at word borders into messages of at most 67 characters; of a list, each entry begins a new message.
 * Entries that fit are never joined.
 */
export type Answer = string | readonly (string | AsSent)[]

/** A station that the node has heard. */
export interface HeardStation {
  readonly call: string
  readonly lastHeardWallMs: number
  readonly position?: (GeoPosition & { readonly atWallMs: number }) | undefined
  /** as in the frame heard last: 'direct', or the digipeaters that repeated it */
  readonly via: readonly string[]
  readonly quality?: SignalQuality | undefined
  readonly frameCount: number
}

/** A weather report heard by radio, converted to SI units; absent where the report had none. */
export interface HeardWeather {
  readonly call: string
  readonly atWallMs: number
  readonly position?: GeoPosition | undefined
  readonly temperatureC?: number | undefined
  readonly windDirectionDeg?: number | undefined
  readonly windSpeedMps?: number | undefined
  readonly windGustMps?: number | undefined
  readonly rainLastHourMm?: number | undefined
  readonly rainLastDayMm?: number | undefined
  readonly humidityPercent?: number | undefined
  readonly pressureHpa?: number | undefined
}

/** Read side of what the node heard. */
export interface StationsView {
  find(call: string): HeardStation | undefined
  /** newest first */
  recent(count: number): readonly HeardStation[]
  /** reports not older than maxAgeMs; newest of each station */
  weather(maxAgeMs: number): readonly HeardWeather[]
  /** measured on the last frames of a station heard direct, newest first */
  signals(
    call: string,
    count: number,
  ): readonly { readonly atWallMs: number; readonly quality: SignalQuality }[]
}

export type LeaveResult =
  | {
      readonly ok: true
      /** messages that wait for the same addressee, this one included */
      readonly waitingCount: number
      /** how long it is kept, ms */
      readonly keptMs: number
    }
  | LeaveRefusal

export type LeaveRefusal =
  | TooLong
  | OutOfOrder
  | { readonly ok: false; readonly reason: 'bad-call' | 'mailbox-full' }
  /** as many of the sender's, or for the addressee, wait as may */
  | {
      readonly ok: false
      readonly reason: 'sender-quota' | 'addressee-quota'
      readonly limit: number
    }

export interface TooLong {
  readonly ok: false
  readonly reason: 'too-long'
  /** characters that must go, and those that may stay */
  readonly excessCharacters: number
  readonly charactersMax: number
}

/** The database cannot be used. */
export interface OutOfOrder {
  readonly ok: false
  readonly reason: 'out-of-order'
}

export interface WaitingMessage {
  readonly id: string
  readonly from: string
  readonly text: string
  readonly leftWallMs: number
  /** its reader may have seen it before, over a connection that broke */
  readonly shown?: boolean
}

/** Messages left for others. Writes are made once for each question id, however often they are called. */
export interface MailboxView {
  leave(question: Question, toCall: string, text: string): LeaveResult
  /** messages waiting for a station, oldest first */
  waitingFor(call: string): readonly WaitingMessage[]
  /** who left the message that this station collected last; absent where nobody can tell */
  lastCollectedFrom?(call: string): string | undefined
  /** the node sends these to the asker as messages of their own, and tells their senders when they arrived */
  collect(question: Question): readonly WaitingMessage[] | 'out-of-order'
  /** the newest text that a station left for several with one question; absent where nobody can */
  leftForSeveral?(from: string): LeftForSeveral | undefined
  /** what a station has left, what is still open first, then newest first; absent where nobody can tell */
  leftBy?(from: string): readonly LeftMessage[]
  /** Takes back what the asker left. @param number as in LeftMessage */
  withdraw?(question: Question, number: string): WithdrawResult
}

/** What somebody left, for whom, and what became of it. */
export interface LeftMessage {
  /** by which its sender names it: '12', 'E3' of mail to an address */
  readonly number: string
  readonly to: string
  readonly text: string
  readonly leftWallMs: number
  /** 'lost': perhaps, by another node; 'sent' and 'unsure': mail to an address, see EmailState */
  readonly state: LeftState | 'lost' | 'sent' | 'unsure'
  readonly endedWallMs?: number | undefined
  /** one text to several */
  readonly several?: { readonly count: number; readonly haveIt: number } | undefined
}

export type LeftState =
  | 'waiting'
  | 'sending'
  | 'passed on'
  | 'delivered'
  | 'refused'
  | 'expired'
  | 'withdrawn'

export type WithdrawResult =
  /** perhaps: it was on the air, or given to a server, and whether it arrived is not known */
  | { readonly kind: 'withdrawn'; readonly to: string; readonly perhaps: boolean }
  /** of one text to several, so many have it or may have it */
  | { readonly kind: 'several'; readonly haveIt: number }
  /** another node has it, and is told to end it */
  | { readonly kind: 'asked' }
  /** nothing is left to withdraw */
  | { readonly kind: 'over'; readonly message: LeftMessage }
  /** no message of the asker's has this number */
  | { readonly kind: 'unknown' }
  | { readonly kind: 'out-of-order' }

/** One text to several, and what became of it. */
export interface LeftForSeveral {
  readonly text: string
  readonly receivers: readonly {
    /** a tactical name or a call sign */
    readonly to: string
    readonly state: LeftState
  }[]
}

/** Somebody whom mail can be sent to. */
export interface EmailReceiver {
  /** as the sender named it: a short name, or the address */
  readonly name: string
  readonly address: string
}

export type EmailResult = { readonly ok: true } | EmailRefusal

export type EmailRefusal =
  | OutOfOrder
  /** the operator does not allow this sender, or this receiver; too many wait */
  | { readonly ok: false; readonly reason: 'sender' | 'receiver' | 'queue-full' }
  | { readonly ok: false; readonly reason: 'day-limit' | 'too-long'; readonly limit: number }

export type NameResult =
  | { readonly ok: true }
  | OutOfOrder
  | { readonly ok: false; readonly reason: 'unknown' }
  | { readonly ok: false; readonly reason: 'names-full'; readonly limit: number }

/** Mail to addresses outside. Writes are made once for each question id, however often they are called. */
export interface EmailView {
  /** Whom a word names: an address, a name of the sender's own, or one of the operator's. */
  receiverOf(from: string, word: string): EmailReceiver | undefined
  /** Keeps it until a link exists. @param language in which its sender is told what becomes of it */
  write(
    question: Question,
    to: EmailReceiver,
    text: string,
    language: string | undefined,
  ): EmailResult
  /** Who wrote what came by mail last to this station; undefined where nothing did. */
  lastWriterTo(call: string): EmailReceiver | undefined
  /** As write, to who wrote that, and marked as its answer. */
  answer(question: Question, text: string, language: string | undefined): EmailResult
  /** the sender's own names */
  namesOf(from: string): readonly EmailReceiver[]
  /** @param address undefined takes the name away */
  setName(question: Question, name: string, address: string | undefined): NameResult
  /** as MailboxView.leftBy, newest first; absent where nobody can tell */
  writtenBy?(from: string): readonly LeftMessage[]
  /** as MailboxView.withdraw */
  withdraw?(question: Question, number: string): WithdrawResult
}

export interface Notice {
  readonly from: string
  readonly text: string
  readonly postedWallMs: number
}

export interface NoticesView {
  /** newest first */
  recent(count: number): readonly Notice[]
  post(question: Question, text: string): PostResult
}

export type PostResult = { readonly ok: true; readonly keptMs: number } | PostRefusal

export type PostRefusal =
  | TooLong
  | OutOfOrder
  /** the sender's, or all notices, are as many as may stand there */
  | {
      readonly ok: false
      readonly reason: 'sender-quota' | 'board-full'
      readonly limit: number
      /** until the oldest of them goes, ms; undefined while no clock says so */
      readonly freeAfterMs: number | undefined
    }

/**
 * What a service keeps between questions: texts by key, under its keyword. What is written for a question is kept
 * together with its answer, or neither is; in a rehearsal it is thrown away.
 */
export interface ServiceStorage {
  read(service: string): ReadonlyMap<string, string>
  /** undefined removes a key */
  write(service: string, changes: ReadonlyMap<string, string | undefined>): void
}

/** What a service wants done besides answering: kept and sent together with its answer, or not at all; in a rehearsal only shown. */
export interface ServiceEffects {
  /** a message to any station, within the limits of one service */
  send(service: string, call: string, text: string): void
  /** a notice for everybody, in the node's name */
  post(service: string, text: string): void
}

/** Why a service acts without being asked. */
export type Occasion =
  | { readonly kind: 'time' }
  | { readonly kind: 'heard'; readonly station: HeardStation }

/** What a service does without being asked. */
export interface ServiceActs {
  /** undefined for never */
  readonly everyMs: number | undefined
  readonly onHeard: boolean
  /** it only keeps: done also in quiet hours, and by a node that answers nobody */
  readonly onlyKeeps?: boolean
  act(occasion: Occasion, context: ServiceContext): Promise<void>
}

/** What a service may know and do besides its own data. */
export interface ServiceContext {
  /** where the asker was last known to be: from its own frames; undefined when never heard with a position */
  readonly askerPosition: AgedPosition | undefined
  readonly node: {
    readonly call: string
    readonly position: GeoPosition | undefined
    /** where the clock and position come from, in a word or two: 'config', 'GPS' */
    readonly positionSource: string
    readonly timeSource: string
    /** minutes east of UTC for local time on answers */
    readonly utcOffsetMinutes: number
    /** the same at another time, where the zone with its daylight saving is known */
    readonly utcOffsetMinutesAt?: ((wallMs: number) => number) | undefined
    readonly units: 'km' | 'miles'
    readonly heightM: number
  }
  /** the tactical names of an event; absent where none is configured */
  readonly names?: NamesView | undefined
  /** of the question; the station's own where it has none. English unless given. */
  readonly language?: string | undefined
  /** the languages that the station knows; those of the program unless given */
  readonly wordings?: Wordings | undefined
  readonly clock: Clock
  /** false while nobody knows whether the wall clock is right; taken for true unless given */
  readonly clockTrusted?: boolean
  /** a source of time says that it is right; taken for true unless given */
  readonly clockConfirmed?: boolean
  readonly stations: StationsView
  readonly mailbox: MailboxView
  readonly notices: NoticesView
  /** absent where no mail goes out */
  readonly email?: EmailView | undefined
  readonly storage: ServiceStorage
  readonly effects: ServiceEffects
  /** somebody tries the service out, as with `ask`: nothing may be kept, and nothing outside be done */
  readonly rehearsal: boolean
  /** all services, for `help` */
  readonly services: readonly Service[]
}

/** Whether a service has what it answers out of; a reason is a sentence for people, without its stop. */
export type Readiness =
  | { readonly state: 'ready' }
  | {
      readonly state: 'stale' | 'empty'
      readonly reason: string
      /** the same in the words of each language */
      readonly text?: TextName & `${string}Reason`
    }

/** What is known while somebody wants to know whether a service is ready; what was heard is not known to who has no node. */
export type ReadyNow = Pick<ServiceContext, 'clock'> & Partial<Pick<ServiceContext, 'stations'>>

/** One thing that people can ask. The whole of a service is one file that exports one of these. */
export interface Service {
  /** lower case, one word; any case and any unambiguous beginning is understood */
  readonly keyword: string
  /** what it does, for `help KEYWORD` and the log: at most 67 characters */
  readonly summary: string
  /** how it is asked, such as 'repeaters N [band]' */
  readonly usage: string
  /** 'text': what follows the keyword is a person's own text and is left as it is; else arguments, of which politeness is left out */
  readonly takes?: 'text'
  /** the club's own: it speaks for itself in every language */
  readonly isOwn?: true
  /** other words for the keyword */
  readonly synonyms?: readonly string[]
  readonly acts?: ServiceActs
  /** the keyword of another service, where a text behind this one's keyword means that */
  instead?(rest: string): string | undefined
  /** true for words that mean something to this service without its keyword: the name of a satellite, of a place */
  recognises?(words: readonly string[]): boolean
  /** what cannot answer is not offered in help and bulletins, and says so when asked. Ready unless given. */
  ready?(now: ReadyNow): Readiness
  /** who may ask; to everybody else it is not there, not even in `help`. Everybody unless given. */
  isFor?(from: string): boolean
  /** it is proven to come from who may stop the station: taken whatever limits say, however little airtime is left, and kept or not */
  isUrgent?(from: string, text: string): boolean
  /** messages that this question's answer may take, asked once it was given; 3 unless the asker asked for more, 10 at most */
  messagesMax?(question: Question): number
  answer(question: Question, context: ServiceContext): Answer | Promise<Answer>
}
