import type { Clock } from '../../runtime/clock.js'
import { wallAgeMs } from '../../runtime/clockTrust.js'
import { setNewest } from '../../runtime/setNewest.js'
import type { HeardStation, HeardWeather, StationsView } from '../../services/service.js'
import {
  plausibleWeather,
  type WeatherField,
  type WeatherFigures,
} from '../../services/weather/plausible.js'
import { isNodeCall } from './entry.js'

/*
 * What nodes tell each other of stations and of the weather, a line for each:
 *
 *     Q3LAP-9 12 47.10250 11.20500          call, minutes since it was heard, degrees north and east where they are known
 *     Q3WX 5 47.10250 11.20500 T12.5 W270,3.1,6.0 R0.2,4.1 H80 P1013.2
 *
 * Figures are in degrees C, degrees and metres a second (from, mean, gust), millimetres (hour, day), percent, hectopascal.
 */

/** A station as another node heard it. */
export interface HeardElsewhere {
  readonly call: string
  readonly node: string
  readonly heardWallMs: number
  readonly latitudeDeg?: number | undefined
  readonly longitudeDeg?: number | undefined
}

const stationsMax = 2_000
const linesMax = 60
const minuteMs = 60_000
const minutesMax = 10_080

/** The stations that this node heard itself, the newest first, as far as they go into one entry. */
export function stationsText(stations: readonly HeardStation[], wallMs: number): string {
  return stations
    .slice(0, linesMax)
    .map(({ call, lastHeardWallMs, position }) =>
      [call, minutesSince(lastHeardWallMs, wallMs), ...placeWords(position)].join(' '),
    )
    .join('\n')
}

export function weatherText(reports: readonly HeardWeather[], wallMs: number): string {
  return reports
    .slice(0, linesMax)
    .flatMap((report) => {
      const figures = weatherGroups.flatMap(({ letter, fields }) => {
        const values = fields.map((field) => report[field])
        if (values.every((value) => value === undefined)) return []
        return [letter + values.map((value) => (value === undefined ? '' : shown(value))).join(',')]
      })
      if (figures.length === 0) return []
      const { call, atWallMs, position } = report
      return [[call, minutesSince(atWallMs, wallMs), ...placeWords(position), ...figures].join(' ')]
    })
    .join('\n')
}

const weatherGroups: readonly { letter: string; fields: readonly WeatherField[] }[] = [
  { letter: 'T', fields: ['temperatureC'] },
  { letter: 'W', fields: ['windDirectionDeg', 'windSpeedMps', 'windGustMps'] },
  { letter: 'R', fields: ['rainLastHourMm', 'rainLastDayMm'] },
  { letter: 'H', fields: ['humidityPercent'] },
  { letter: 'P', fields: ['pressureHpa'] },
]

const shown = (value: number): string => String(Math.round(value * 10) / 10)
const minutesSince = (thenMs: number, nowMs: number): number =>
  Math.min(minutesMax, Math.max(0, Math.round((nowMs - thenMs) / minuteMs)))
const placeWords = (
  place: { readonly latitudeDeg: number; readonly longitudeDeg: number } | undefined,
): string[] => (place ? [place.latitudeDeg.toFixed(5), place.longitudeDeg.toFixed(5)] : [])

/** What is known of stations that others heard. */
export interface Knowledge {
  /** @param writtenWallMs when the node told it, by the clock here */
  take(node: string, kind: 'stations' | 'weather', text: string, writtenWallMs: number): void
  /** Where a station was heard last, but here; without SSID any of its SSIDs. */
  find(call: string): HeardElsewhere | undefined
  /** What services see: stations of this node first, then those of others, which say by whom they were heard. */
  view(own: StationsView): StationsView
}

export function knowledge(clock: Pick<Clock, 'wallMs'>): Knowledge {
  const stations = new Map<string, HeardElsewhere>()
  const reports = new Map<string, HeardWeather & { readonly node: string }>()

  const takeStation = (node: string, words: readonly string[], writtenWallMs: number): void => {
    const line = readLine(words, writtenWallMs)
    if (line === undefined || line.rest.length > 0) return
    const { call, atWallMs, place } = line
    const known = stations.get(call)
    if (known !== undefined && known.node !== node && known.heardWallMs > atWallMs) return
    setNewest(stations, call, { call, node, heardWallMs: atWallMs, ...place }, stationsMax)
  }

  const takeReport = (node: string, words: readonly string[], writtenWallMs: number): void => {
    const line = readLine(words, writtenWallMs)
    const figures = line && readFigures(line.rest)
    if (line === undefined || figures === undefined) return
    const { call, atWallMs, place } = line
    setNewest(reports, call, { ...figures, call, node, atWallMs, position: place }, stationsMax)
  }

  return {
    take(node, kind, text, writtenWallMs) {
      for (const line of text.split('\n').slice(0, linesMax)) {
        const words = line.split(' ')
        if (kind === 'stations') takeStation(node, words, writtenWallMs)
        else takeReport(node, words, writtenWallMs)
      }
    },
    find(call) {
      const exact = stations.get(call)
      if (exact !== undefined || call.includes('-')) return exact
      const all = [...stations.values()].filter((one) => one.call.split('-')[0] === call)
      return all.sort((a, b) => b.heardWallMs - a.heardWallMs)[0]
    },
    view: (own) => ({
      ...{
        recent: (count) => own.recent(count),
        signals: (call, count) => own.signals(call, count),
      },
      find(call) {
        const heard = own.find(call)
        const other = heard === undefined ? stations.get(call.toUpperCase()) : undefined
        return heard ?? (other && stationOf(other))
      },
      weather(maxAgeMs) {
        const local = own.weather(maxAgeMs)
        const known = new Set(local.map(({ call }) => call))
        const others = [...reports.values()].filter(({ call, atWallMs }) => {
          const ageMs = wallAgeMs(atWallMs, clock.wallMs())
          return !known.has(call) && ageMs !== undefined && ageMs <= maxAgeMs
        })
        return [...local, ...others]
      },
    }),
  }
}

function stationOf({ call, node, heardWallMs, ...place }: HeardElsewhere): HeardStation {
  const { latitudeDeg, longitudeDeg } = place
  const isPlaced = latitudeDeg !== undefined && longitudeDeg !== undefined
  return {
    ...{ call, lastHeardWallMs: heardWallMs, via: [node], frameCount: 1 },
    ...(isPlaced && { position: { latitudeDeg, longitudeDeg, atWallMs: heardWallMs } }),
  }
}

function readLine(words: readonly string[], writtenWallMs: number) {
  const [call = '', minutesText = '', ...more] = words
  if (!isNodeCall(call) || !/\d/.test(call) || !/^\d{1,5}$/.test(minutesText)) return undefined
  if (Number(minutesText) > minutesMax) return undefined
  const atWallMs = writtenWallMs - Number(minutesText) * minuteMs
  if (!isDegrees(more[0]) || !isDegrees(more[1]))
    return { call, atWallMs, place: undefined, rest: more }
  const [latitudeDeg, longitudeDeg] = [Number(more[0]), Number(more[1])]
  if (Math.abs(latitudeDeg) > 90 || Math.abs(longitudeDeg) > 180) return undefined
  return { call, atWallMs, place: { latitudeDeg, longitudeDeg }, rest: more.slice(2) }
}

const isDegrees = (text: string | undefined): text is string =>
  text !== undefined && /^-?\d{1,3}\.\d{1,6}$/.test(text)

/** @returns undefined for figures that no weather has, or none at all */
function readFigures(words: readonly string[]): WeatherFigures | undefined {
  const said: Partial<Record<WeatherField, number>> = {}
  for (const word of words) {
    const group = weatherGroups.find(({ letter }) => word.startsWith(letter))
    const values = word.slice(1).split(',')
    if (group === undefined || values.length !== group.fields.length) return undefined
    for (const [index, text] of values.entries()) {
      if (text === '') continue
      if (!/^-?\d{1,4}(\.\d)?$/.test(text)) return undefined
      said[group.fields[index]!] = Number(text)
    }
  }
  const { figures, outside } = plausibleWeather(said)
  return outside.length > 0 || Object.keys(figures).length === 0 ? undefined : figures
}
