import type { Wording } from '../../words/air/wording.js'
import { geodesicBetween } from '../geo/geodesic.js'
import { type Reference, wayFromWords } from '../geo/reference.js'
import { agoWords, type DistanceUnits } from '../geo/words.js'
import type { HeardWeather } from '../service.js'
import { plausibleWeather, type WeatherField, type WeatherFigures } from './plausible.js'
import { weatherWords } from './words.js'

/** What is asked for together: what one station does not say of it is looked for at the next. */
const quantities: readonly (readonly WeatherField[])[] = [
  ['temperatureC'],
  ['windSpeedMps', 'windDirectionDeg', 'windGustMps'],
  ['humidityPercent'],
  ['pressureHpa'],
  ['rainLastHourMm', 'rainLastDayMm'],
]

/** An hour of age counts like so many metres of distance (judgement, no source). */
const metresPerHour = 30_000
/** Stations that one answer is made of. */
const stationsMax = 3

export interface ReportsAsked {
  readonly nowMs: number
  readonly units: DistanceUnits
  readonly wording: Wording
  /** from where distances count; the newest report is best where it is not known */
  readonly reference: Reference | undefined
  readonly rangeM: number
  /** has been told already */
  readonly told?: WeatherFigures
}

/**
 * The best report by distance and age together, and from the next ones what it does not say, each with its own age:
 * 'Q1WX 14km NE of you 12min ago: 12C wind 18km/h NW; Q1FAR 40km N of you 2min ago: 1013hPa'. undefined when none of them
 * says anything that has not been told.
 */
export function reportsText(
  reports: readonly HeardWeather[],
  asked: ReportsAsked,
): string | undefined {
  const parts: string[] = []
  const said = new Set<WeatherField>(fieldsOf(asked.told ?? {}))
  for (const { report, place } of ordered(reports, asked)) {
    const { figures } = plausibleWeather(report)
    const missing = quantities.filter((fields) => !fields.some((field) => said.has(field))).flat()
    const more = picked(figures, missing)
    const words = weatherWords(more, asked.units, asked.wording)
    if (words === '') continue
    for (const field of fieldsOf(more)) said.add(field)
    const ago = agoWords(asked.nowMs - report.atWallMs, asked.wording)
    parts.push(`${report.call} ${place}${ago}: ${words}`)
    // Where they are is not known: far ones must not be mixed.
    if (parts.length === (asked.reference === undefined ? 1 : stationsMax)) break
  }
  return parts.length === 0 ? undefined : parts.join('; ')
}

function ordered(
  reports: readonly HeardWeather[],
  { reference, rangeM, nowMs, units, wording }: ReportsAsked,
): { readonly report: HeardWeather; readonly place: string }[] {
  if (reference === undefined) {
    const newest = [...reports].sort((a, b) => b.atWallMs - a.atWallMs)
    return newest.map((report) => ({ report, place: '' }))
  }
  // A degree of latitude has at least 110.5 km: most of what is too far is left out without trigonometry.
  const reachDeg = rangeM / 110_500
  const { latitudeDeg } = reference.position
  return reports
    .flatMap((report) => {
      const { position } = report
      if (position === undefined || Math.abs(position.latitudeDeg - latitudeDeg) > reachDeg)
        return []
      const way = geodesicBetween(reference.position, position)
      const ageHours = Math.max(0, nowMs - report.atWallMs) / 3_600_000
      return way.distanceM > rangeM
        ? []
        : [{ report, way, cost: way.distanceM + ageHours * metresPerHour }]
    })
    .sort((a, b) => a.cost - b.cost)
    .map(({ report, way }) => ({
      report,
      place: `${wayFromWords(way, reference, units, wording)} `,
    }))
}

const fieldsOf = (figures: WeatherFigures): WeatherField[] =>
  (Object.keys(figures) as WeatherField[]).filter((field) => figures[field] !== undefined)

const picked = (figures: WeatherFigures, fields: readonly WeatherField[]): WeatherFigures =>
  Object.fromEntries(fields.map((field) => [field, figures[field]])) as WeatherFigures
