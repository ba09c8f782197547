import type { SignalQuality } from '../../dsp/modem/receivedFrame.js'
import { wallAgeMs } from '../runtime/clockTrust.js'
import type { GeoPosition, HeardStation, HeardWeather, StationsView } from '../services/service.js'
import type { Database } from './database.js'
import { packStation } from './packedStation.js'
import type { RowReader } from './rows.js'
import { readStationDetails, type StationDetails } from './stationDetails.js'
import type { ChangedRows, Writer } from './writer.js'

/** One frame of a station, as the table wants to know of it. */
export interface Hearing {
  readonly call: string
  readonly atWallMs: number
  readonly radio: number
  /** digipeaters that repeated it; empty when heard direct */
  readonly via: readonly string[]
  readonly quality?: SignalQuality | undefined
  readonly position?: GeoPosition | undefined
  /** symbol table and code, such as '/>' */
  readonly symbol?: string | undefined
  readonly weather?: Omit<HeardWeather, 'call' | 'atWallMs' | 'position'> | undefined
  readonly status?: string | undefined
}

/** A station with all that the node keeps of it. */
export interface StationRecord extends HeardStation {
  readonly firstHeardWallMs: number
  readonly radio: number
  readonly symbol?: string | undefined
  readonly status?: string | undefined
  /** when it was last heard without a digipeater */
  readonly lastDirectWallMs?: number | undefined
}

export interface StationTable extends StationsView {
  find(call: string): StationRecord | undefined
  recent(count: number): readonly StationRecord[]
  add(hearing: Hearing): void
  /** Takes a hearing that the gathering file still had. */
  takeAgain(hearing: Hearing): void
  /** frames of each of the last hours, the present one first; undefined for a station never heard */
  hourlyCounts(call: string, hours: number, nowWallMs: number): readonly number[] | undefined
  readonly count: number
  /** when the one was last heard that was not heard for longest; Infinity for none */
  readonly oldestMs: number
  /** Forgets at most so many stations not heard since then. @returns how many */
  forgetBefore(wallMs: number, countMax: number): number
}

const signalsKept = 8
const hoursKept = 24
const hourMs = 3_600_000

/**
 * Every station heard, in memory, with the database as its copy: `heard` and the page read it often,
 * and rows are written at checkpoints, one for each station however many frames it sent.
 * @param stationsMax the station not heard for longest makes room
 */
export function stationTable(
  database: Database,
  writer: Writer,
  rows: RowReader,
  options: { readonly stationsMax: number; readonly wallMs: () => number },
): StationTable {
  // In order of hearing: a Map keeps the order of insertion, and a station heard again is put in anew.
  const stations = readStations(database, writer, rows)
  const changed = new Set<string>()
  writer.changedStations = changedRows(database, stations, changed)

  const take = (hearing: Hearing): void => {
    const details = stations.get(hearing.call) ?? newStation(hearing)
    stations.delete(hearing.call)
    stations.set(hearing.call, details)
    note(details, hearing)
    changed.add(hearing.call)
  }

  const forget = (call: string): void => {
    stations.delete(call)
    changed.delete(call)
    writer.later('forgetStation', [call])
  }

  const isWithin = (atWallMs: number, maxAgeMs: number): boolean =>
    (wallAgeMs(atWallMs, options.wallMs()) ?? Number.POSITIVE_INFINITY) <= maxAgeMs

  return {
    get count() {
      return stations.size
    },
    get oldestMs() {
      let oldestMs = Number.POSITIVE_INFINITY
      for (const { lastHeardMs } of stations.values()) oldestMs = Math.min(oldestMs, lastHeardMs)
      return oldestMs
    },
    add(hearing) {
      take(hearing)
      writer.heard(hearing)
      if (stations.size > options.stationsMax) forget(stations.keys().next().value as string)
    },
    takeAgain: take,
    find(call) {
      const details = stations.get(call.toUpperCase())
      return details && recordOf(details)
    },
    recent(count) {
      const all = [...stations.values()]
      return all
        .slice(Math.max(0, all.length - count))
        .reverse()
        .map(recordOf)
    },
    weather(maxAgeMs) {
      const reports: HeardWeather[] = []
      for (const { weather } of stations.values())
        if (weather !== undefined && isWithin(weather.atWallMs, maxAgeMs)) reports.push(weather)
      return reports.reverse()
    },
    signals: (call, count) => (stations.get(call.toUpperCase())?.signals ?? []).slice(0, count),
    hourlyCounts(call, hours, nowWallMs) {
      const details = stations.get(call.toUpperCase())
      if (details === undefined) return undefined
      const thisHour = Math.floor(nowWallMs / hourMs)
      const counts = new Map(details.hours)
      return Array.from({ length: hours }, (_, ago) => counts.get(thisHour - ago) ?? 0)
    },
    forgetBefore(wallMs, countMax) {
      const old: string[] = []
      for (const { call, lastHeardMs } of stations.values()) {
        if (old.length >= countMax) break
        if (lastHeardMs < wallMs) old.push(call)
      }
      for (const call of old) forget(call)
      return old.length
    },
  }
}

type Stations = Map<string, StationDetails>

function readStations(database: Database, writer: Writer, rows: RowReader): Stations {
  const stations: Stations = new Map()
  const kept = writer.reading('reading the stations heard', [], () =>
    database.all<{ call: unknown; last_heard_ms: unknown; details: unknown }>(
      'SELECT call, last_heard_ms, details FROM stations ORDER BY last_heard_ms',
    ),
  )
  for (const { call, last_heard_ms, details: text } of kept) {
    const details = readStationDetails(call, last_heard_ms, text)
    if (details !== undefined) stations.set(details.call, details)
    else {
      const got = String(text).slice(0, 80)
      rows.leaveOut('stations', String(call), got, 'what is known of a station')
    }
  }
  return stations
}

function changedRows(
  database: Database,
  stations: ReadonlyMap<string, StationDetails>,
  changed: Set<string>,
): ChangedRows {
  return {
    get count() {
      return changed.size
    },
    write(countMax) {
      const calls = [...changed].slice(0, countMax)
      for (const call of calls) {
        const details = stations.get(call)
        if (details === undefined) continue
        database.run(
          `INSERT INTO stations (call, last_heard_ms, details) VALUES (?, ?, ?)
           ON CONFLICT (call) DO UPDATE SET last_heard_ms = excluded.last_heard_ms, details = excluded.details`,
          call,
          details.lastHeardMs,
          packStation(details),
        )
      }
      // One that is heard again before this is on the disk is changed again.
      for (const call of calls) changed.delete(call)
      return () => {
        for (const call of calls) if (stations.has(call)) changed.add(call)
      }
    },
  }
}

function newStation(hearing: Hearing): StationDetails {
  return {
    call: hearing.call,
    firstHeardMs: hearing.atWallMs,
    lastHeardMs: hearing.atWallMs,
    frameCount: 0,
    radio: hearing.radio,
    via: [],
    signals: [],
    hours: [],
  }
}

function note(details: StationDetails, hearing: Hearing): void {
  const { atWallMs, quality, position, weather } = hearing
  details.lastHeardMs = atWallMs
  details.frameCount++
  details.radio = hearing.radio
  details.via = hearing.via.length === 0 ? ['direct'] : [...hearing.via]
  if (quality !== undefined) details.quality = quality
  if (position !== undefined) {
    const { latitudeDeg, longitudeDeg } = position
    details.position = { latitudeDeg, longitudeDeg, atWallMs }
  }
  if (hearing.symbol !== undefined) details.symbol = hearing.symbol
  if (hearing.status !== undefined) details.status = hearing.status
  if (weather !== undefined) {
    const { latitudeDeg, longitudeDeg } = details.position ?? {}
    const known = latitudeDeg !== undefined && longitudeDeg !== undefined
    details.weather = {
      ...{ ...weather, call: details.call, atWallMs },
      position: known ? { latitudeDeg, longitudeDeg } : undefined,
    }
  }
  if (hearing.via.length === 0) {
    details.lastDirectMs = atWallMs
    if (quality !== undefined) {
      details.signals = [{ atWallMs, quality }, ...details.signals].slice(0, signalsKept)
    }
  }
  const hour = Math.floor(atWallMs / hourMs)
  const known = details.hours.find(([one]) => one === hour)
  if (known !== undefined) known[1]++
  else details.hours = [[hour, 1] as [number, number], ...details.hours].slice(0, hoursKept)
}

function recordOf(details: StationDetails): StationRecord {
  return {
    call: details.call,
    firstHeardWallMs: details.firstHeardMs,
    lastHeardWallMs: details.lastHeardMs,
    lastDirectWallMs: details.lastDirectMs,
    frameCount: details.frameCount,
    radio: details.radio,
    via: details.via,
    quality: details.quality,
    position: details.position,
    symbol: details.symbol,
    status: details.status,
  }
}
