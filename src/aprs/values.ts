/*
 * The values that payloads are made of: metric units in the names, degrees north and east positive.
 * Absent means that the payload did not say. Chapters are those of the APRS Protocol Reference
 * 1.0.1.
 */

/** The two characters that choose a map symbol (ch. 20). */
export interface MapSymbol {
  /** `/` primary, `\` alternate, or an overlay character */
  readonly table: string
  readonly code: string
}

/**
 * A time as sent; which month or day it belongs to, only the moment of reception tells.
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
  /**
   * digits that the sender left blank, 0 to 4; blanks read as zeros in latitudeDeg and longitudeDeg
   */
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
  /**
   * N: 0 says that the rest means nothing, 1 to 8 eighths of the possible hits, 9 a manual report
   */
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
  /**
   * of the far corner; southward and (but for shape 6) eastward, after the correction of addendum
   * 1.1
   */
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
  /** above or below the mean, or the flood mark: the sender knows */
  readonly waterLevelM?: number
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

/** T octet of a compressed position (ch. 9). */
export interface CompressionType {
  readonly value: number
  readonly fix: 'current' | 'old'
  readonly sentence: 'other' | 'GLL' | 'GGA' | 'RMC'
  readonly origin: string
}
