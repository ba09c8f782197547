import type { HeardWeather } from '../services/service.js'
import { packQuality, rounded, unpackQuality } from './packedQuality.js'
import type { StationDetails } from './stationDetails.js'

/*
 * A station as its row keeps it: what its other columns say is left out, figures are rounded, times of signals are seconds
 * before the last frame, and hours are counts backwards from the last one. Some 0.8 kB instead of 1.7.
 */

interface PackedStation {
  first: number
  direct?: number
  frames: number
  radio: number
  via: string[]
  quality?: unknown
  /** degrees, degrees, ms */
  place?: [number, number, number]
  symbol?: string
  status?: string
  weather?: PackedWeather
  /** [seconds before the last frame, figures...], newest first */
  signals: [number, ...(number | null)[]][]
  /** the newest hour since 1970, and the frames in it, in the hour before it, and so on */
  hours: number[]
}
type PackedWeather = Omit<HeardWeather, 'call' | 'position'> & { readonly place?: [number, number] }

/** `hourlyCounts` looks back no further. */
const hoursKept = 24

export function packStation(details: StationDetails): string {
  const { position, quality, weather } = details
  const packed: PackedStation = {
    first: details.firstHeardMs,
    ...(details.lastDirectMs === undefined ? {} : { direct: details.lastDirectMs }),
    frames: details.frameCount,
    radio: details.radio,
    via: details.via,
    ...(quality === undefined ? {} : { quality: packQuality(quality) }),
    ...(position === undefined ? {} : { place: [...degrees(position), position.atWallMs] }),
    ...(details.symbol === undefined ? {} : { symbol: details.symbol }),
    ...(details.status === undefined ? {} : { status: details.status }),
    ...(weather === undefined ? {} : { weather: packWeather(weather) }),
    signals: details.signals.map(({ atWallMs, quality }) => [
      Math.round((details.lastHeardMs - atWallMs) / 1000),
      ...packQuality(quality),
    ]),
    hours: packHours(details.hours),
  }
  return JSON.stringify(packed)
}

/** @param value what JSON made of the text; what is missing or wrong in it shows in what is returned */
export function unpackStation(call: string, lastHeardMs: number, value: object): unknown {
  const packed = value as PackedStation
  const place = packed.place
  const quality = unpackQuality(packed.quality)
  return {
    call,
    firstHeardMs: packed.first,
    lastHeardMs,
    ...(packed.direct === undefined ? {} : { lastDirectMs: packed.direct }),
    frameCount: packed.frames,
    radio: packed.radio,
    via: packed.via,
    ...(quality === undefined ? {} : { quality }),
    ...(Array.isArray(place)
      ? { position: { latitudeDeg: place[0], longitudeDeg: place[1], atWallMs: place[2] } }
      : {}),
    symbol: packed.symbol,
    status: packed.status,
    ...(packed.weather === undefined ? {} : { weather: unpackWeather(call, packed.weather) }),
    signals: Array.isArray(packed.signals)
      ? packed.signals.flatMap(([agoS, ...list]) => {
          const quality = unpackQuality(list)
          return quality === undefined ? [] : [{ atWallMs: lastHeardMs - agoS * 1000, quality }]
        })
      : undefined,
    hours: Array.isArray(packed.hours) ? unpackHours(packed.hours) : undefined,
  }
}

/** Five decimals are a metre. */
const degrees = (position: { latitudeDeg: number; longitudeDeg: number }): [number, number] => [
  rounded(position.latitudeDeg, 5) ?? 0,
  rounded(position.longitudeDeg, 5) ?? 0,
]

function packWeather({ call: _, position, ...readings }: HeardWeather): PackedWeather {
  const short = Object.entries(readings).map(([name, value]) => [
    name,
    typeof value === 'number' ? rounded(value, 2) : value,
  ])
  return {
    ...(Object.fromEntries(short) as typeof readings),
    ...(position === undefined ? {} : { place: degrees(position) }),
  }
}

function unpackWeather(call: string, { place, ...readings }: PackedWeather): HeardWeather {
  const position = place && { latitudeDeg: place[0], longitudeDeg: place[1] }
  return { ...readings, call, position }
}

function packHours(hours: StationDetails['hours']): number[] {
  const newest = hours[0]?.[0]
  if (newest === undefined) return []
  const counts: number[] = []
  for (const [hour, count] of hours) if (newest - hour < hoursKept) counts[newest - hour] = count
  return [newest, ...Array.from(counts, (count) => count ?? 0)]
}

const unpackHours = ([newest, ...counts]: number[]): StationDetails['hours'] =>
  newest === undefined
    ? []
    : counts.flatMap((count, ago): [number, number][] =>
        count === 0 ? [] : [[newest - ago, count]],
      )
