import type { GreatWay } from '../geo/geodesic.js'
import type {
  AgedPosition,
  Answer,
  GeoPosition,
  HeardStation,
  HeardWeather,
  Notice,
  Question,
} from '../service.js'
import type { OwnFigures } from './ownFigures.js'

/**
 * What an own service's file exports as its default. It is plain JavaScript (.mjs) and may import what Node has.
 * It runs in a thread of its own: when it fails or takes too long, only it is started anew. A thread is no cage:
 * it has the rights of the node's user, so load only what you trust.
 */
export interface OwnService {
  /** 3 to 12 lower-case letters, digits and hyphens, a letter first, and no keyword that is taken */
  readonly keyword: string
  /** what it does, at most 67 characters */
  readonly summary: string
  /** how it is asked, such as 'tides [PLACE]' */
  readonly usage: string
  /** messages that an answer may take, 1 to 10; 3 when left out */
  readonly messagesMax?: number
  /** other words for the keyword, one word each, of the same form */
  readonly synonyms?: readonly string[]
  /** what its words are in: 'en', 'de', 'fr', 'es' or 'it' */
  readonly language?: string
  /** what the operator may set under [services.own.settings.KEYWORD] */
  readonly settings?: Readonly<Record<string, OwnSetting>>
  /**
   * Whether it has what it answers out of. What is not ready is offered to nobody, in `help` or elsewhere, and still answers who asks.
   * Asked when the service is loaded, each minute, and after each answer. Ready unless given.
   */
  ready?(now: OwnReadyNow): OwnReadiness | Promise<OwnReadiness>
  /** A text is split at word borders into messages of 67 characters; each text of a list begins a new one. */
  answer(question: Question, context: OwnContext): OwnAnswer | Promise<OwnAnswer>
  /** what it does again and again without being asked; from 1 minute to a week */
  readonly every?: {
    readonly minutes: number
    run(context: OwnContext): unknown
  }
  /** A station was heard; told at most once a minute of each. */
  onHeard?(station: HeardStation, context: OwnContext): unknown
}

/** What a service knows when it is asked whether it is ready. */
export type OwnReadyNow = Pick<OwnContext, 'nowWallMs' | 'settings'>

/** A reason is a sentence for people, without its stop, in the service's language: 1 to 67 characters. */
export type OwnReadiness =
  | { readonly state: 'ready' }
  | { readonly state: 'stale' | 'empty'; readonly reason: string }

/** Where the number of messages depends on the question: 1 to 10. */
export type OwnAnswer =
  | string
  | readonly string[]
  | { readonly text: string | readonly string[]; readonly messagesMax: number }

/** One key of a service's settings; without a default the operator has to set it. */
export type OwnSetting =
  | { readonly type: 'text'; readonly default?: string }
  | {
      readonly type: 'number'
      readonly default?: number
      readonly min?: number
      readonly max?: number
    }
  | { readonly type: 'boolean'; readonly default?: boolean }
  | { readonly type: 'texts'; readonly default?: readonly string[] }

export type OwnSettings = Readonly<Record<string, string | number | boolean | readonly string[]>>

/** What an own service is told: a copy, made for each question. */
export interface OwnContext {
  /** milliseconds since 1970, as the node believes */
  readonly nowWallMs: number
  /** where the asker was last known to be; undefined when never heard with a position */
  readonly askerPosition: AgedPosition | undefined
  readonly node: {
    readonly call: string
    readonly position: GeoPosition | undefined
    readonly positionSource: string
    readonly timeSource: string
    readonly utcOffsetMinutes: number
    readonly units: 'km' | 'miles'
    readonly heightM: number
  }
  /** the hundred heard last, newest first */
  readonly stations: readonly HeardStation[]
  /** weather reports of the last two hours heard by radio, a hundred at most */
  readonly weather: readonly HeardWeather[]
  /** the ten newest of the board */
  readonly notices: readonly Notice[]
  /** somebody tries the service out: write no file of yours, do nothing outside; what you put into `data` and send is thrown away */
  readonly rehearsal: boolean
  readonly data: OwnData
  readonly settings: OwnSettings
  /**
   * A message to any station, of 67 characters at most. It goes out together with the answer, within the node's limits: 5 at a time and
   * 30 an hour for one service.
   */
  send(call: string, text: string): void
  /** A notice for everybody on the board, in the node's name; 2 at a time. */
  post(text: string): void
  /** distance and bearing on WGS84 */
  way(from: GeoPosition, to: GeoPosition): GreatWay
  /** such as '12km NE', in the node's units and the service's language */
  wayWords(from: GeoPosition, to: GeoPosition): string
}

/**
 * What the service keeps in the node's database: values that JSON can hold, by key. They are written together with the
 * answer, before it goes out, or not at all when there is none. A service has one question at a time, so what was read is still true.
 */
export interface OwnData {
  /** undefined for what is not kept */
  get(key: string): unknown
  /** @throws RangeError for what JSON cannot hold, or beyond the limits of size */
  set(key: string, value: unknown): void
  delete(key: string): void
  /** keys with this beginning and their values, in order of their letters; all of them without one */
  list(beginning?: string): [key: string, value: unknown][]
}

/** The part of the context that travels to the thread; the functions are added there. */
export type OwnContextData = Omit<OwnContext, 'way' | 'wayWords' | 'data' | 'send' | 'post'> & {
  /** JSON texts by key */
  readonly stored: Readonly<Record<string, string>>
  /** of the service's language */
  readonly figures: OwnFigures
}

/** What storage is to be changed by: JSON texts by key, null removes. */
export type OwnChanges = readonly (readonly [key: string, json: string | null])[]

/** What a service did besides answering. */
export interface OwnEffects {
  readonly changes: OwnChanges
  readonly sends: readonly { readonly call: string; readonly text: string }[]
  readonly posts: readonly string[]
}

export interface OwnManifest {
  readonly keyword: string
  readonly summary: string
  readonly usage: string
  readonly messagesMax: number
  readonly synonyms: readonly string[]
  readonly language: string | undefined
  readonly settings: Readonly<Record<string, OwnSetting>>
  readonly everyMinutes: number | undefined
  readonly hearsStations: boolean
  readonly saysReady: boolean
}

/** Why a service is called. */
export type OwnCall =
  | { readonly kind: 'question'; readonly question: Question }
  | { readonly kind: 'time' }
  | { readonly kind: 'heard'; readonly station: HeardStation }

/** Node to thread. */
export type OwnRequest = { readonly number: number } & (
  | { readonly call: OwnCall; readonly context: OwnContextData }
  | { readonly call: { readonly kind: 'ready' }; readonly now: OwnReadyNow }
)

/** Thread to node. */
export type OwnReply =
  | { readonly kind: 'ready'; readonly manifest: OwnManifest }
  | { readonly kind: 'unusable'; readonly reason: string }
  | {
      readonly kind: 'answer'
      readonly number: number
      /** '' where nobody asked */
      readonly answer: Answer
      readonly messagesMax: number | undefined
      readonly effects: OwnEffects
    }
  | { readonly kind: 'readiness'; readonly number: number; readonly readiness: OwnReadiness }
  | { readonly kind: 'failed'; readonly number: number; readonly reason: string }
