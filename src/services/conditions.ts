import { inEnglish } from '../words/air/all.js'
import {
  type Arguments,
  type Known,
  offsetAtOf,
  placeAsked,
  readArguments,
  unknownText,
} from './asking/readArguments.js'
import { composed } from './compose.js'
import { referenceAsked } from './geo/reference.js'
import { agoWords, distanceWords, spanWords } from './geo/words.js'
import { positionHint } from './positionHint.js'
import type { Service, ServiceContext } from './service.js'
import { clockWords, weekdayWords } from './timeWords.js'
import { type Forecast, forecastUntil } from './weather/forecast.js'
import { sampleEveryMs, type WeatherHistory, weatherHistory } from './weather/history.js'
import type { Instrument } from './weather/instrument.js'
import { reportsText } from './weather/reportsText.js'
import { extremesWords, weatherWords } from './weather/words.js'
import { wordingOf } from './wordingOf.js'

export interface ConditionsOptions {
  /** what the operator expects; absent where no file of it is configured */
  readonly forecast?: (() => Forecast | undefined) | undefined
  /** there is an instrument, whose readings are kept for a day */
  readonly keepsHistory?: boolean | undefined
  readonly instrument: Instrument
  /** whether one is configured; taken for so unless given */
  readonly hasInstrument?: boolean
  /** an older reading of the node's own instrument is not told */
  readonly readingAgeMaxMs: number
  /** an older report heard by radio is not told */
  readonly reportAgeMaxMs: number
  /** a report from farther away says nothing about here */
  readonly rangeM: number
  readonly positionAgeMaxMs: number
  readonly known?: Known
}

/** Words of what comes, whenever it is. */
const ahead: ReadonlySet<string> = new Set(['forecast', 'hours'])

/** `conditions`: weather by the node's instrument, else by the nearest report heard on the air. */
export function conditionsService(options: ConditionsOptions): Service {
  const history = weatherHistory()
  return {
    ...(options.keepsHistory === true && {
      acts: {
        ...{ everyMs: sampleEveryMs, onHeard: false, onlyKeeps: true },
        act: async (_, context) => history.note(await options.instrument.read(), context),
      },
    }),
    messagesMax: () => 4,
    keyword: 'conditions',
    summary: 'Weather here, or by the nearest report heard on the air',
    usage: 'conditions [CALL or place]',
    ready: ({ stations }) =>
      options.hasInstrument !== false ||
      stations === undefined ||
      stations.weather(options.reportAgeMaxMs).length > 0 ||
      options.forecast?.() !== undefined
        ? { state: 'ready' }
        : { state: 'empty', reason: inEnglish.say('noWeatherReason'), text: 'noWeatherReason' },
    async answer(question, context) {
      const words = question.words.filter((word) => !ahead.has(word))
      const asked = readArguments(words, context, options.known, { dates: true })
      const [told = '', ...past] = await weatherText(asked, context, options, history)
      const forecast = forecastText(options.forecast?.(), context)
      // Nobody here knows what comes: what is now must not be taken for it.
      const isAhead = words.length < question.words.length || (asked.day?.daysAhead ?? 0) > 0
      const { say } = wordingOf(context)
      const now = isAhead && forecast === undefined ? say('noForecast', { weather: told }) : told
      const reference = referenceAsked(
        placeAsked(asked, context),
        context,
        options.positionAgeMaxMs,
      )
      const isPlaced = asked.call !== undefined || asked.isNode
      const notes = [
        unknownText(asked.unknown, wordingOf(context)),
        reference && positionHint(reference, isPlaced, question, context),
      ].filter((one) => one !== undefined)
      // Who asks what comes is told that first.
      const order = isAhead ? [forecast, now, ...past] : [now, ...past, forecast]
      const texts = [...order, ...notes].filter((one) => one !== undefined)
      return texts.length === 1 ? texts[0]! : composed(texts)
    },
  }
}

/** Never one that is over; nor any while nobody knows what time it is. */
function forecastText(forecast: Forecast | undefined, context: ServiceContext): string | undefined {
  const { clock, clockTrusted = true, node } = context
  if (forecast === undefined || !clockTrusted) return undefined
  const offsetAt = offsetAtOf(node)
  const untilMs = forecastUntil(forecast, clock.wallMs(), offsetAt)
  if (untilMs === undefined) return undefined
  const wording = wordingOf(context)
  const offset = offsetAt(untilMs)
  const until = `${weekdayWords(untilMs, offset, wording)} ${clockWords(untilMs, offset)}`
  return wording.say('forecastUntil', { until, text: forecast.text })
}

/** What is now, and, of the own instrument, what the day was like. */
async function weatherText(
  asked: Arguments,
  context: ServiceContext,
  options: ConditionsOptions,
  history: WeatherHistory,
): Promise<readonly string[]> {
  const nowMs = context.clock.wallMs()
  const { units } = context.node
  const wording = wordingOf(context)
  const { call, place } = asked
  if (call !== undefined && call !== context.node.call)
    return [ofStation(call, nowMs, context, options)]
  const reading = place === undefined ? await options.instrument.read() : undefined
  const isFresh = reading !== undefined && nowMs - reading.atWallMs <= options.readingAgeMaxMs
  const past = isFresh ? history.past(reading, context) : undefined
  const words = isFresh
    ? weatherWords(reading.figures, units, wording, past?.pressureChangeHpa)
    : ''
  if (!isFresh || words === '') return [heardText(asked, nowMs, context, options)]
  const ago = agoWords(nowMs - reading.atWallMs, wording)
  const own = wording.say('weatherAtNode', { ago, weather: words })
  const others = reportsText(context.stations.weather(options.reportAgeMaxMs), {
    ...{ nowMs, units, wording, rangeM: options.rangeM, told: reading.figures },
    reference: referenceAsked(undefined, context, options.positionAgeMaxMs),
  })
  const extremes = past === undefined ? '' : extremesWords(past, units, wording)
  const now = others === undefined ? own : `${own}; ${others}`
  return extremes === '' ? [now] : [now, extremes]
}

/** By the station that was named, with any SSID where none was. */
function ofStation(
  call: string,
  nowMs: number,
  context: ServiceContext,
  { reportAgeMaxMs, rangeM }: ConditionsOptions,
): string {
  const reports = context.stations
    .weather(reportAgeMaxMs)
    .filter((one) => one.call === call || one.call.split('-')[0] === call)
  const { units } = context.node
  const wording = wordingOf(context)
  const text = reportsText(reports, { nowMs, units, wording, rangeM, reference: undefined })
  return text ?? wording.say('noWeatherFrom', { call, age: spanWords(reportAgeMaxMs, wording) })
}

function heardText(
  asked: Arguments,
  nowMs: number,
  context: ServiceContext,
  options: ConditionsOptions,
): string {
  const { units } = context.node
  const wording = wordingOf(context)
  const { reportAgeMaxMs, rangeM } = options
  const place = placeAsked(asked, context)
  const reference = referenceAsked(place, context, options.positionAgeMaxMs)
  const text = reportsText(context.stations.weather(reportAgeMaxMs), {
    ...{ nowMs, units, wording, reference, rangeM },
  })
  if (text !== undefined) return text
  const age = spanWords(reportAgeMaxMs, wording)
  if (reference === undefined) return wording.say('noWeather', { age, around: '' })
  const distance = distanceWords(rangeM, units, wording)
  const around =
    place === undefined
      ? wording.say('within', { distance })
      : wording.say('withinOf', { distance, place: reference.words })
  return wording.say('noWeather', { age, around })
}
