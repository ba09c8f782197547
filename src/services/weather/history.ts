import type { ServiceContext } from '../service.js'
import { plausibleWeather, type WeatherFigures } from './plausible.js'
import type { WeatherReading } from './reading.js'

/** What the own instrument said at one time. */
interface Sample {
  /** monotonic: a clock that is set moves none of them */
  readonly atMs: number
  readonly temperatureC?: number | undefined
  readonly pressureHpa?: number | undefined
  readonly windGustMps?: number | undefined
}

/** How it is kept; times by the wall clock. */
interface Kept extends Omit<Sample, 'atMs'> {
  readonly atWallMs: number
  /** a source of time had confirmed the clock */
  readonly confirmed: boolean
}

export interface WeatherPast {
  /** pressure now less that of three hours ago, hPa; undefined where nothing was measured then */
  readonly pressureChangeHpa: number | undefined
  /** of the last 24 hours, those that were measured, in whole hours */
  readonly measuredHours: number
  readonly leastC: number | undefined
  readonly greatestC: number | undefined
  readonly gustMps: number | undefined
}

/** What the own instrument measured in the last day: in memory by the monotonic clock, and kept for after a restart. */
export interface WeatherHistory {
  /** Takes a reading into it; to be called every sampleEveryMs. */
  note(reading: WeatherReading | undefined, context: ServiceContext): void
  past(reading: WeatherReading, context: ServiceContext): WeatherPast
}

const minuteMs = 60_000
const hourMs = 60 * minuteMs
const dayMs = 24 * hourMs
export const sampleEveryMs = 15 * minuteMs
const slotCount = dayMs / sampleEveryMs
const tendencyMs = 3 * hourMs
/** What was measured so much before or after counts as three hours ago. */
const tendencyToleranceMs = 10 * minuteMs
/** A clock that moved by more against the monotonic one was set. */
const setByMs = minuteMs
/** A reading from farther ahead has another clock than ours. */
const aheadMs = minuteMs

/** Where the samples are kept; not an own service's keyword. */
const weatherRecords = '(weather)'

export function weatherHistory(): WeatherHistory {
  let samples: Sample[] = []
  /** what an earlier run kept was looked at, once a source of time confirmed the clock */
  let isRecalled = false
  let offsetMs: number | undefined

  const samplesIn = (context: ServiceContext): readonly Sample[] =>
    samples.length > 0 ? samples : recalled(context)

  return {
    note(reading, context) {
      const { clock, clockConfirmed = true, storage } = context
      const [nowMs, wallMs] = [clock.monotonicMs(), clock.wallMs()]
      const changes = new Map<string, string | undefined>()
      const isSet = offsetMs !== undefined && Math.abs(wallMs - nowMs - offsetMs) > setByMs
      offsetMs = wallMs - nowMs
      const isFirst = !isRecalled && clockConfirmed
      if (isFirst) {
        isRecalled = true
        const known = new Set(samples.map(({ atMs }) => Math.round(atMs / minuteMs)))
        const older = recalled(context).filter(
          ({ atMs }) => !known.has(Math.round(atMs / minuteMs)),
        )
        samples = [...older, ...samples].sort((a, b) => a.atMs - b.atMs)
      }
      samples = samples.filter(({ atMs }) => nowMs - atMs <= dayMs)
      const added = sampleOf(reading, nowMs, wallMs)
      const last = samples.at(-1)
      // A file that nobody writes any more says the same again.
      const isNew = added !== undefined && (!last || added.atMs - last.atMs >= sampleEveryMs / 2)
      if (isNew) samples.push(added)
      // Their times are told anew, now that the clock says another one.
      const anew = isSet || isFirst ? samples : isNew ? [added] : []
      if (isSet || isFirst)
        for (const key of storage.read(weatherRecords).keys()) changes.set(key, undefined)
      for (const sample of anew) {
        const atWallMs = wallMs - (nowMs - sample.atMs)
        const { atMs: _, ...figures } = sample
        const kept: Kept = { ...figures, atWallMs, confirmed: clockConfirmed }
        changes.set(slotOf(sample.atMs + offsetMs), JSON.stringify(kept))
      }
      if (changes.size > 0) storage.write(weatherRecords, changes)
    },
    past(reading, context) {
      const { clock } = context
      const [nowMs, wallMs] = [clock.monotonicMs(), clock.wallMs()]
      const own = sampleOf(reading, nowMs, wallMs)
      const known = samplesIn(context).filter(({ atMs }) => nowMs - atMs <= dayMs)
      return pastOf(own === undefined ? known : [...known, own], own)
    },
  }
}

const slotOf = (wallMs: number): string => String(Math.floor(wallMs / sampleEveryMs) % slotCount)

/** Nothing of a reading that is old, or of a clock that is ahead. */
function sampleOf(
  reading: WeatherReading | undefined,
  nowMs: number,
  wallMs: number,
): Sample | undefined {
  if (reading === undefined) return undefined
  const ageMs = wallMs - reading.atWallMs
  if (ageMs > sampleEveryMs || ageMs < -aheadMs) return undefined
  return sampleWith(nowMs - Math.max(0, ageMs), reading.figures)
}

function sampleWith(atMs: number, said: WeatherFigures): Sample | undefined {
  const { temperatureC, pressureHpa, windGustMps } = plausibleWeather(said).figures
  if (temperatureC === undefined && pressureHpa === undefined && windGustMps === undefined)
    return undefined
  return { atMs, temperatureC, pressureHpa, windGustMps }
}

/** What was kept, where a clock that is confirmed says how long ago that was. */
function recalled({ clock, clockConfirmed = true, storage }: ServiceContext): Sample[] {
  if (!clockConfirmed) return []
  const [nowMs, wallMs] = [clock.monotonicMs(), clock.wallMs()]
  return [...storage.read(weatherRecords).values()]
    .flatMap((json) => {
      const kept = keptIn(json)
      if (typeof kept !== 'object' || kept === null || kept.confirmed !== true) return []
      const ageMs = wallMs - (kept.atWallMs ?? Number.NaN)
      if (!(ageMs >= 0 && ageMs <= dayMs)) return []
      return sampleWith(nowMs - ageMs, numbersOf(kept)) ?? []
    })
    .sort((a, b) => a.atMs - b.atMs)
}

/** A figure that is none would be reckoned with as if it were. */
const numbersOf = (kept: object): WeatherFigures =>
  Object.fromEntries(Object.entries(kept).filter(([, value]) => typeof value === 'number'))

/** What cannot be read is none. */
function keptIn(json: string): Partial<Kept> | null {
  try {
    return JSON.parse(json) as Partial<Kept> | null
  } catch {
    return null
  }
}

function pastOf(samples: readonly Sample[], own: Sample | undefined): WeatherPast {
  const slots = new Set(samples.map(({ atMs }) => Math.floor(atMs / sampleEveryMs)))
  const temperatures = samples.flatMap(({ temperatureC }) => temperatureC ?? [])
  const gusts = samples.flatMap(({ windGustMps }) => windGustMps ?? [])
  return {
    pressureChangeHpa: own && pressureChange(samples, own),
    measuredHours: Math.min(24, Math.floor((slots.size * sampleEveryMs) / hourMs)),
    leastC: temperatures.length === 0 ? undefined : Math.min(...temperatures),
    greatestC: temperatures.length === 0 ? undefined : Math.max(...temperatures),
    gustMps: gusts.length === 0 ? undefined : Math.max(...gusts),
  }
}

function pressureChange(samples: readonly Sample[], own: Sample): number | undefined {
  if (own.pressureHpa === undefined) return undefined
  let [then, nearestMs] = [undefined as number | undefined, tendencyToleranceMs]
  for (const { atMs, pressureHpa } of samples) {
    const offMs = Math.abs(own.atMs - tendencyMs - atMs)
    if (pressureHpa !== undefined && offMs <= nearestMs) [then, nearestMs] = [pressureHpa, offMs]
  }
  return then === undefined ? undefined : own.pressureHpa - then
}
