/*
 * What an APRS payload says, as typed values: metric units in the names, degrees north and east positive, texts decoded.
 * Absent means that the payload did not say. Chapters are those of the APRS Protocol Reference 1.0.1.
 */

/** The two characters that choose a map symbol (ch. 20). */
export interface MapSymbol {
  /** `/` primary, `\` alternate, or an overlay character */
  readonly table: string
  readonly code: string
}

/**
 * A time as sent; which month or day it belongs to, only the moment of reception tells (see resolveTimestamp).
 * @see ch. 6
 */
export type Timestamp =
  | {
      readonly form: 'dayHoursMinutes'
      readonly day: number
      readonly hours: number
      readonly minutes: number
      readonly zone: 'UTC' | 'local'
      /** 111111z: the frequency addendum's mark of an object that always exists */
      readonly permanent?: true
    }
  | {
      readonly form: 'hoursMinutesSeconds'
      readonly hours: number
      readonly minutes: number
      readonly seconds: number
    }
  | {
      readonly form: 'monthDayHoursMinutes'
      readonly month: number
      readonly day: number
      readonly hours: number
      readonly minutes: number
    }

/** A place. */
export interface Position {
  readonly latitudeDeg: number
  readonly longitudeDeg: number
  /** digits that the sender left blank, 0 to 4; blanks read as zeros in latitudeDeg and longitudeDeg */
  readonly ambiguityDigits: number
  readonly symbol: MapSymbol
  /** how it was written */
  readonly encoding: 'uncompressed' | 'compressed' | 'Mic-E'
  /** letter of the !DAO! option, upper case: W is WGS84 */
  readonly datum?: string
}

/** Transmitter power, antenna height, gain and directivity: PHG (ch. 7). */
export interface AntennaReport {
  readonly powerW: number
  readonly heightAboveTerrainM: number
  readonly gainDb: number
  /** 45 to 360; 'omni', or 'undefined' for a digit without meaning */
  readonly directionDeg: number | 'omni' | 'undefined'
  readonly beaconsPerHour?: number
}

/** Signal strength for finding a transmitter: DFS (ch. 7). */
export interface SignalReport extends Omit<AntennaReport, 'powerW' | 'beaconsPerHour'> {
  /** S points, 0 to 9 */
  readonly strengthS: number
}

/** A bearing to a transmitter: /BRG/NRQ (ch. 7). */
export interface BearingReport {
  readonly bearingDeg: number
  /** N: 0 says that the rest means nothing, 1 to 8 eighths of the possible hits, 9 a manual report */
  readonly hits: number
  /** R as sent; rangeKm is 2 to the power of it, in miles, converted */
  readonly rangeDigit: number
  readonly rangeKm: number
  /** Q, 0 useless to 9 best */
  readonly quality: number
  /** width of the beam that Q stands for; absent for Q = 0 */
  readonly accuracyDeg?: number
}

/** An area drawn on the map (ch. 11). */
export interface AreaReport {
  readonly shape: number
  readonly shapeName: string
  readonly color: number
  readonly colorName: string
  /** yy and xx as sent */
  readonly latitudeDigits: number
  readonly longitudeDigits: number
  /** of the far corner; southward and (but for shape 6) eastward, after the correction of addendum 1.1 */
  readonly latitudeOffsetDeg: number
  readonly longitudeOffsetDeg: number
  /** half-width of the corridor on both sides of a line */
  readonly corridorKm?: number
}

/** A tropical storm (ch. 12). */
export interface StormReport {
  readonly stormKind: 'tropical storm' | 'hurricane' | 'tropical depression'
  readonly sustainedWindKmh?: number
  readonly gustKmh?: number
  readonly pressureHpa?: number
  readonly hurricaneRadiusKm?: number
  readonly tropicalStormRadiusKm?: number
  readonly wholeGaleRadiusKm?: number
}

/** Ch. 12, converted to SI. */
export interface Weather {
  readonly windDirectionDeg?: number
  readonly windSpeedMps?: number
  readonly windGustMps?: number
  readonly temperatureC?: number
  readonly rainLastHourMm?: number
  readonly rainLastDayMm?: number
  readonly rainSinceMidnightMm?: number
  readonly rainCounter?: number
  readonly snowLastDayMm?: number
  readonly humidityPercent?: number
  readonly pressureHpa?: number
  readonly luminosityWattsPerM2?: number
  readonly batteryV?: number
  readonly radiationNanosievertsPerHour?: number
  /** one character for the sender's software and two to four for its instrument */
  readonly software?: string
  readonly instrument?: string
}

/** Measured values as sent, before any equations (ch. 13). */
export interface TelemetryValues {
  /** three digits, or `MIC`; a number in the base-91 form */
  readonly sequence: string
  /** absent values are undefined */
  readonly analog: readonly (number | undefined)[]
  /** B1 first; empty when none were sent */
  readonly digital: readonly boolean[]
}

/** Where to listen or to answer (frequency addendum). */
export interface FrequencyReport {
  /** absent where the object's name or nothing gives it */
  readonly frequencyMhz?: number
  readonly tone?:
    | { readonly toneKind: 'off' }
    /** sent only (T), sent and needed to open the squelch (C), 1750 Hz burst (1) */
    | { readonly toneKind: 'tone' | 'ctcss' | 'burst'; readonly toneHz: number }
    | { readonly toneKind: 'dcs'; readonly dcsCode: string }
  /** transmit frequency of the repeater's user less frequencyMhz; 0 for simplex */
  readonly offsetMhz?: number
  readonly rangeKm?: number
  /** narrow-band FM (lower-case tone letter) */
  readonly narrow?: true
}

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

/** T octet of a compressed position (ch. 9). */
export interface CompressionType {
  readonly value: number
  readonly fix: 'current' | 'old'
  readonly sentence: 'other' | 'GLL' | 'GGA' | 'RMC'
  readonly origin: string
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
  /** number of an earlier message that this one acknowledges; '' says only that the sender understands the form */
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

/** A query to one station, sent as a message; not acknowledged, as it has no number. */
export interface DirectedQueryPayload {
  readonly kind: 'directedQuery'
  readonly addressee: string
  /** upper case, without question marks: APRSD, APRSH, PING ... */
  readonly query: string
  /** the station asked about */
  readonly target?: string
  /** none by the reference; some radios number every message, and repeat it until it is acknowledged */
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
