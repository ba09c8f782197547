import { referenceOf } from './geo/reference.js'
import { agoWords, distanceWords } from './geo/words.js'
import type { Service, ServiceContext } from './service.js'
import type { Instrument } from './weather/instrument.js'
import { reportsText } from './weather/reportsText.js'
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
      const { units } = context.node
      const reading = await options.instrument.read()
      const isFresh = reading !== undefined && nowMs - reading.atWallMs <= options.readingAgeMaxMs
      const words = isFresh ? weatherWords(reading.figures, units) : ''
      if (!isFresh || words === '') return heardText(nowMs, context, options)
      const own = `At node ${agoWords(nowMs - reading.atWallMs)}: ${words}`
      const others = reportsText(context.stations.weather(options.reportAgeMaxMs), {
        ...{ nowMs, units, rangeM: options.rangeM, told: reading.figures },
        reference: referenceOf(context, options.positionAgeMaxMs),
      })
      return others === undefined ? own : `${own}; ${others}`
    },
  }
}

function heardText(nowMs: number, context: ServiceContext, options: ConditionsOptions): string {
  const { units } = context.node
  const { reportAgeMaxMs, rangeM } = options
  const reference = referenceOf(context, options.positionAgeMaxMs)
  const text = reportsText(context.stations.weather(reportAgeMaxMs), {
    ...{ nowMs, units, reference, rangeM },
  })
  if (text !== undefined) return text
  const age = agoWords(reportAgeMaxMs).replace(' ago', '')
  const around = reference === undefined ? '' : ` within ${distanceWords(rangeM, units)}`
  return `No weather heard in the last ${age}${around}.`
}
