import { nearestIndex } from './geo/nearest.js'
import { referenceOf, wayFromWords } from './geo/reference.js'
import { agoWords, distanceWords } from './geo/words.js'
import type { HeardWeather, Service, ServiceContext } from './service.js'
import type { Instrument } from './weather/instrument.js'
import { weatherFields } from './weather/reading.js'
import { weatherWords } from './weather/words.js'

export interface ConditionsOptions {
  readonly instrument: Instrument
  /** an older reading of the node's own instrument is not told */
  readonly readingAgeMaxMs: number
  /** an older report heard by radio is not told */
  readonly reportAgeMaxMs: number
  /** a report from farther away says nothing about here */
  readonly rangeM: number
  readonly positionAgeMaxMs: number
}

/** `conditions`: weather by the node's instrument, else by the nearest report heard on the air. */
export function conditionsService(options: ConditionsOptions): Service {
  return {
    keyword: 'conditions',
    summary: 'Weather here, or by the nearest report heard on the air',
    usage: 'conditions',
    async answer(_question, context) {
      const nowMs = context.clock.wallMs()
      const reading = await options.instrument.read()
      if (reading !== undefined && nowMs - reading.atWallMs <= options.readingAgeMaxMs) {
        const words = weatherWords(reading.figures, context.node.units)
        return `At node ${agoWords(nowMs - reading.atWallMs)}: ${words}`
      }
      return reportWords(nowMs, context, options)
    },
  }
}

function reportWords(nowMs: number, context: ServiceContext, options: ConditionsOptions): string {
  const reports = context.stations.weather(options.reportAgeMaxMs)
  const age = agoWords(options.reportAgeMaxMs).replace(' ago', '')
  const { units } = context.node
  const reference = referenceOf(context, options.positionAgeMaxMs)
  const told = (report: HeardWeather, place: string): string =>
    `${report.call} ${place}${agoWords(nowMs - report.atWallMs)}: ${weatherWords(report, units)}`
  if (reference === undefined) {
    const newest = reports.find(saysSomething)
    return newest === undefined ? `No weather heard in the last ${age}.` : told(newest, '')
  }
  // A degree of latitude has at least 110.5 km: most of what is too far is left out without trigonometry.
  const reachDeg = options.rangeM / 110_500
  const { latitudeDeg } = reference.position
  const placed = reports.filter(
    ({ position }) =>
      position !== undefined && Math.abs(position.latitudeDeg - latitudeDeg) <= reachDeg,
  )
  const telling = placed.filter(saysSomething)
  const [near] = nearestIndex(telling, (report) => report.position!).nearest(reference.position, 1)
  if (near === undefined || near.way.distanceM > options.rangeM)
    return `No weather heard in the last ${age} within ${distanceWords(options.rangeM, units)}.`
  return told(near.entry, `${wayFromWords(near.way, reference, units)} `)
}

const saysSomething = (report: HeardWeather): boolean =>
  weatherFields.some((field) => report[field] !== undefined)
