import type { GeoPosition } from '../services/service.js'
import type { WeatherReading } from '../services/weather/reading.js'

export const beaconKinds = [
  'position',
  'status',
  'capabilities',
  'services',
  'notices',
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

/** Something on the map that the node tells others of, such as a repeater near it. */
export interface BeaconObject {
  /** at most 9 characters */
  readonly name: string
  readonly position: GeoPosition
  /** table and code, such as '/r' */
  readonly symbol: string
  /** at most 43 characters */
  readonly comment: string
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
  /** after the position, at most 43 characters */
  readonly comment: string
  /** nearest repeaters and whatever else the club wants on the map */
  readonly objects: () => readonly BeaconObject[]
  /** at most three; duty used and frames heard are added by the node */
  readonly telemetry: readonly TelemetryChannel[]
  /** what the node's own instrument says, while that is fresh; absent where there is none */
  readonly weather?: (() => Promise<WeatherReading | undefined>) | undefined
}
