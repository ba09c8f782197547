import type { GeoPosition } from '../services/service.js'
import type { WeatherReading } from '../services/weather/reading.js'

export const beaconKinds = [
  'position',
  'status',
  'capabilities',
  'services',
  'notices',
  'announcements',
  'objects',
  'telemetry',
  'telemetry-definitions',
  'weather',
] as const
export type BeaconKind = (typeof beaconKinds)[number]

/** What is sent by itself, and when. One of `everyMs` and `cron` is given. */
export interface BeaconSchedule {
  readonly kind: BeaconKind
  readonly everyMs?: number | undefined
  /** five or six fields, in UTC: '0,30 * * * *' */
  readonly cron?: string | undefined
  /** digipeaters that are asked to repeat it; none when empty */
  readonly path?: readonly string[] | undefined
  /** radios that send it; all when absent */
  readonly radios?: readonly number[] | undefined
}

/** What a position says of the station's reach (APRS reference 1.0.1, chapter 7). */
export type Reach =
  | {
      readonly powerW: number
      /** of the antenna, above the average of the terrain around it */
      readonly heightAboveTerrainM: number
      readonly gainDb: number
      /** 0 to 360; all directions when absent */
      readonly directionDeg?: number | undefined
    }
  | { readonly rangeM: number }

/** Something on the map that the node tells others of, such as a repeater near it. */
export interface BeaconObject {
  /** at most 9 characters */
  readonly name: string
  readonly position: GeoPosition
  /** table and code, such as '/r' */
  readonly symbol: string
  /** at most 43 characters */
  readonly comment: string
  /** when it is no longer among the objects, others are told so: for what ends, not for what has only become distant */
  readonly isToldWhenGone?: boolean | undefined
}

/** One analogue channel of the telemetry: the value sent is (reading - offset) / step, 0 to 255. */
export interface TelemetryChannel {
  readonly name: string
  readonly unit: string
  readonly step: number
  readonly offset: number
  /** undefined while it cannot be read: the channel is then sent as 0 */
  read(): number | undefined
}

export interface BeaconOptions {
  readonly schedules: readonly BeaconSchedule[]
  /** how long a beacon may wait for a free channel and for room in the duty limit */
  readonly notAfterMs: number
  /** symbol table and code of the node's position */
  readonly symbol: string
  /** after the position, at most 43 characters, 36 beside a reach */
  readonly comment: string
  readonly reach?: Reach | undefined
  /** nearest repeaters and whatever else the club wants on the map */
  readonly objects: () => readonly BeaconObject[]
  /** at most three; duty used and frames heard are added by the node */
  readonly telemetry: readonly TelemetryChannel[]
  /** what the node's own instrument says, while that is fresh; absent where there is none */
  readonly weather?: (() => Promise<WeatherReading | undefined>) | undefined
}
