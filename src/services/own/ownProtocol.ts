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

/**
 * What an own service's file exports as its default. It is plain JavaScript (.mjs) and may import what Node has.
 * It runs in a thread of its own: when it fails or takes too long, only it is started anew. A thread is no cage:
 * it has the rights of the node's user, so load only what you trust.
 */
export interface OwnService {
  /** 3 to 12 lower-case letters, and no keyword that is taken */
  readonly keyword: string
  /** what it does, at most 67 characters */
  readonly summary: string
  /** how it is asked, such as 'tides [PLACE]' */
  readonly usage: string
  /** messages that an answer may take, 1 to 10; 3 when left out */
  readonly messagesMax?: number
  /** A text is split at word borders into messages of 67 characters; each text of a list begins a new one. */
  answer(question: Question, context: OwnContext): Answer | Promise<Answer>
}

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
  /** somebody tries the service out: write no file of yours, do nothing outside; what you put into storage is thrown away */
  readonly rehearsal: boolean
  readonly storage: OwnStorage
  /** distance and bearing on WGS84 */
  way(from: GeoPosition, to: GeoPosition): GreatWay
  /** such as '12km NE', in the node's units */
  wayWords(from: GeoPosition, to: GeoPosition): string
}

/**
 * What the service keeps in the node's database: values that JSON can hold, by key. They are written together with the
 * answer, or not at all when there is none. A service has one question at a time, so what was read is still true.
 */
export interface OwnStorage {
  /** undefined for what is not kept */
  get(key: string): unknown
  /** @throws RangeError for what JSON cannot hold, or beyond the limits of size */
  set(key: string, value: unknown): void
  delete(key: string): void
  /** in order of their letters */
  keys(): string[]
}

/** The part of the context that travels to the thread; the functions are added there. */
export type OwnContextData = Omit<OwnContext, 'way' | 'wayWords' | 'storage'> & {
  /** JSON texts by key */
  readonly stored: Readonly<Record<string, string>>
}

/** What storage is to be changed by: JSON texts by key, null removes. */
export type OwnChanges = readonly (readonly [key: string, json: string | null])[]

export interface OwnManifest {
  readonly keyword: string
  readonly summary: string
  readonly usage: string
  readonly messagesMax: number
}

/** Node to thread. */
export interface OwnRequest {
  readonly number: number
  readonly question: Question
  readonly context: OwnContextData
}

/** Thread to node. */
export type OwnReply =
  | { readonly kind: 'ready'; readonly manifest: OwnManifest }
  | { readonly kind: 'unusable'; readonly reason: string }
  | {
      readonly kind: 'answer'
      readonly number: number
      readonly answer: Answer
      readonly changes: OwnChanges
    }
  | { readonly kind: 'failed'; readonly number: number; readonly reason: string }
