/*
 * What an APRS payload says, as typed values: metric units in the names, degrees north and east
 * positive, texts decoded. Absent means that the payload did not say. Chapters are those of the
 * APRS Protocol Reference 1.0.1.
 */

import type {
  AntennaReport,
  AreaReport,
  BearingReport,
  CompressionType,
  FrequencyReport,
  MapSymbol,
  Position,
  SignalReport,
  StormReport,
  TelemetryValues,
  Timestamp,
  Weather,
} from './values.js'

export type * from './values.js'

/** What may come with a position, whether it is a station's, an object's or an item's. */
export interface PositionDetails {
  readonly position: Position
  readonly timestamp?: Timestamp
  /** 1 to 360, where 360 is north; absent when unknown */
  readonly courseDeg?: number
  readonly speedKmh?: number
  readonly altitudeM?: number
  readonly antenna?: AntennaReport
  /** pre-calculated radio range (RNG, or compressed) */
  readonly rangeKm?: number
  readonly signal?: SignalReport
  readonly bearing?: BearingReport
  readonly area?: AreaReport
  readonly storm?: StormReport
  readonly signpost?: string
  readonly weather?: Weather
  readonly telemetry?: TelemetryValues
  readonly frequency?: FrequencyReport
  readonly compression?: CompressionType
  /** free text, without the parts that became values above */
  readonly comment: string
  /** a part that was damaged and left out, in words */
  readonly problem?: string
}

export interface PositionPayload extends PositionDetails {
  readonly kind: 'position'
  /** the sender can take messages */
  readonly messaging: boolean
}

export interface MicEPayload extends PositionDetails {
  readonly kind: 'micE'
  /** `M3: Returning`, `C2: Custom-2`, `Emergency`, `unknown` */
  readonly statusCode: string
  readonly emergency: boolean
  readonly fix: 'current' | 'old'
  /** characters around the text that tell the kind of radio */
  readonly radioPrefix?: string
  readonly radioSuffix?: string
  /** 'unknown' for radios that do not say */
  readonly messaging: boolean | 'unknown'
  readonly locator?: string
}

export interface ObjectPayload extends PositionDetails {
  readonly kind: 'object'
  readonly name: string
  /** false: the sender says that it is gone */
  readonly live: boolean
}

export interface ItemPayload extends PositionDetails {
  readonly kind: 'item'
  readonly name: string
  readonly live: boolean
}

export interface MessagePayload {
  readonly kind: 'message'
  readonly addressee: string
  readonly text: string
  /** 1 to 5 letters and digits; absent when the sender wants no acknowledgement */
  readonly number?: string
  /**
   * number of an earlier message that this one acknowledges; '' says only that the sender
   * understands the form
   */
  readonly replyAcknowledges?: string
  /** everything after the `{`; acknowledgements repeat it */
  readonly numberAsSent?: string
  readonly problem?: string
}

interface MessageAnswer {
  readonly addressee: string
  /** of the message that it answers */
  readonly number: string
  /** `number` with what came after a `}` */
  readonly numberAsSent: string
}

export interface AcknowledgementPayload extends MessageAnswer {
  readonly kind: 'acknowledgement'
}

/** The addressee refused the message. */
export interface RejectionPayload extends MessageAnswer {
  readonly kind: 'rejection'
}

export interface BulletinPayload {
  readonly kind: 'bulletin'
  readonly bulletinKind: 'bulletin' | 'announcement' | 'group' | 'weather service'
  readonly addressee: string
  /** digit of a bulletin, letter of an announcement; the severity of a weather service bulletin */
  readonly id: string
  readonly group?: string
  readonly text: string
  /** identifier of a weather service bulletin, never acknowledged */
  readonly reference?: string
}

/** A query to one station, sent as a message. */
export interface DirectedQueryPayload {
  readonly kind: 'directedQuery'
  readonly addressee: string
  /** upper case, without question marks: APRSD, APRSH, PING ... */
  readonly query: string
  /** the station asked about */
  readonly target?: string
  /**
   * none by the reference; some radios number every message, and repeat it until it is acknowledged
   */
  readonly numberAsSent?: string
}

/** A query to everybody. */
export interface QueryPayload {
  readonly kind: 'query'
  readonly query: string
  /** stations elsewhere shall not answer */
  readonly footprint?: {
    readonly latitudeDeg: number
    readonly longitudeDeg: number
    readonly radiusKm: number
  }
  readonly problem?: string
}

export interface WeatherPayload {
  readonly kind: 'weather'
  readonly weather: Weather
  readonly timestamp?: Timestamp
  readonly comment: string
  readonly problem?: string
}

/** Octets of a weather station, passed on as it gave them. */
export interface RawWeatherPayload {
  readonly kind: 'rawWeather'
  readonly record: string
}

export interface TelemetryPayload {
  readonly kind: 'telemetry'
  readonly telemetry: TelemetryValues
  readonly comment: string
}

/** What the telemetry of `addressee` means. */
export type TelemetryDefinitionPayload = {
  readonly kind: 'telemetryDefinition'
  readonly addressee: string
} & (
  | { readonly definition: 'names' | 'units'; readonly labels: readonly string[] }
  | {
      readonly definition: 'equations'
      /** a, b, c of a v² + b v + c, channel 1 first */
      readonly coefficients: readonly (readonly [number, number, number])[]
    }
  | {
      readonly definition: 'bits'
      /** the state of each bit that its label describes, B1 first */
      readonly activeStates: readonly boolean[]
      readonly title: string
    }
)

export interface StatusPayload {
  readonly kind: 'status'
  readonly text: string
  readonly timestamp?: Timestamp
  readonly locator?: string
  readonly symbol?: MapSymbol
  readonly beamHeadingDeg?: number
  readonly radiatedPowerW?: number
  readonly frequency?: FrequencyReport
}

export interface ThirdPartyPayload {
  readonly kind: 'thirdParty'
  readonly source: string
  readonly destination: string
  /** the inner header's path as sent, `*` included */
  readonly path: readonly string[]
  readonly payload: AprsPayload
}

export interface NmeaPayload {
  readonly kind: 'nmea'
  /** three letters: GGA, GLL, RMC, VTG, WPL */
  readonly sentence: string
  readonly latitudeDeg?: number
  readonly longitudeDeg?: number
  readonly altitudeM?: number
  readonly courseDeg?: number
  readonly speedKmh?: number
  /** hh:mm:ss or hh:mm:ss.sss, UTC */
  readonly time?: string
  /** yyyy-mm-dd, UTC */
  readonly date?: string
  readonly waypoint?: string
}

export interface LocatorPayload {
  readonly kind: 'locator'
  readonly locator: string
  readonly comment: string
}

export interface CapabilitiesPayload {
  readonly kind: 'capabilities'
  /** true for a token without value */
  readonly tokens: Readonly<Record<string, string | true>>
}

export interface UserDefinedPayload {
  readonly kind: 'userDefined'
  readonly userId: string
  readonly packetType: string
  readonly data: string
  readonly experimental: boolean
}

export interface TestPayload {
  readonly kind: 'test'
  readonly data: string
}

export interface UnreadablePayload {
  readonly kind: 'unreadable'
  readonly reason: string
}

export type AprsPayload =
  | PositionPayload
  | MicEPayload
  | ObjectPayload
  | ItemPayload
  | MessagePayload
  | AcknowledgementPayload
  | RejectionPayload
  | BulletinPayload
  | DirectedQueryPayload
  | QueryPayload
  | WeatherPayload
  | RawWeatherPayload
  | TelemetryPayload
  | TelemetryDefinitionPayload
  | StatusPayload
  | ThirdPartyPayload
  | NmeaPayload
  | LocatorPayload
  | CapabilitiesPayload
  | UserDefinedPayload
  | TestPayload
  | UnreadablePayload

export const unreadable = (reason: string): UnreadablePayload => ({ kind: 'unreadable', reason })
