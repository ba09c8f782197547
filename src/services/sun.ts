import type { OffsetAt } from '../runtime/localTime.js'
import type { Wording } from '../words/air/wording.js'
import { type DayWanted, dayOfMonth, readDay } from './asking/days.js'
import {
  type Arguments,
  type Known,
  offsetAtOf,
  placeAsked,
  readArguments,
  unknownText,
} from './asking/readArguments.js'
import { composed } from './compose.js'
import { type Reference, referenceAsked } from './geo/reference.js'
import { positionHint } from './positionHint.js'
import { whereAreYou } from './repeaters.js'
import type { Service, ServiceContext } from './service.js'
import { moonDay, moonState } from './sky/moonState.js'
import { type SunDay, sunDay } from './sky/sunTimes.js'
import { capitalised, clockWords, dayWords, zoneWords } from './timeWords.js'
import { wordingOf } from './wordingOf.js'

export interface SunOptions {
  readonly positionAgeMaxMs: number
  readonly known?: Known
}

/** `sun [day] [place]`: civil dawn, rise, set and dusk of a day (of tomorrow once it is dark), and the moon; `sun moon`: more of it. */
export function sunService(options: SunOptions): Service {
  return {
    keyword: 'sun',
    summary: 'Dawn, sunrise, sunset, dusk, and the moon',
    usage: 'sun [moon] [day] [place]',
    answer(question, context) {
      const others = question.words.filter((word) => word !== 'moon')
      const asked = readArguments(others, context, options.known, { dates: true })
      const nowMs = context.clock.wallMs()
      const offsetAt = offsetAtOf(context.node)
      const numbered =
        asked.count === undefined ? undefined : dayOfMonth(asked.count, nowMs, offsetAt)
      const wanted = asked.day ?? numbered
      const day = wanted ?? readDay(['today'], nowMs, offsetAt)!.day
      const note = noteOn(asked, context)
      const notes = note === undefined ? [] : [note]
      const place = placeAsked(asked, context)
      const reference = referenceAsked(place, context, options.positionAgeMaxMs)
      const hint = reference && positionHint(reference, asked.isNode, question, context)
      if (hint !== undefined) notes.push(hint)
      const words: SunWords = { offsetAt, wording: wordingOf(context) }
      const moon = moonText(day.daysAhead > 0 ? day.fromWallMs : nowMs, words)
      if (reference === undefined)
        return composed([whereAreYou('sun', words.wording), moon, ...notes])
      if (others.length < question.words.length)
        return composed([moon, moonTimesText(reference, day.fromWallMs, words), ...notes])
      return composed([sunText(reference, wanted, nowMs, words), moon, ...notes])
    },
  }
}

function noteOn(asked: Arguments, context: ServiceContext): string | undefined {
  if (asked.call !== undefined && placeAsked(asked, context) === undefined)
    return wordingOf(context).say('whereUnknown', { call: asked.call })
  return unknownText(asked.unknown, wordingOf(context))
}

interface SunWords {
  readonly offsetAt: OffsetAt
  readonly wording: Wording
}

function sunText(
  { position, atWords: at }: Reference,
  day: DayWanted | undefined,
  nowMs: number,
  words: SunWords,
): string {
  const { offsetAt, wording } = words
  const timesFrom = (fromMs: number): string => timesOf(sunDay(position, fromMs), words)
  if (day !== undefined && day.daysAhead !== 0) {
    const { fromWallMs } = day
    const times = timesFrom(fromWallMs)
    if (day.daysAhead === 1) return wording.say('sunTomorrow', { at, times })
    return wording.say('sunDay', {
      ...{ day: dayWords(fromWallMs, offsetAt(fromWallMs), wording), at, times },
    })
  }
  const today = sunDay(position, readDay(['today'], nowMs, offsetAt)!.day.fromWallMs)
  const isOver = (today.duskWallMs ?? today.noonWallMs + 43_200_000) < nowMs
  if (!isOver || day !== undefined)
    return wording.say('sunToday', { at, times: timesOf(today, words) })
  const next = readDay(['tomorrow'], nowMs, offsetAt)!.day
  return wording.say('sunTomorrow', { at, times: timesFrom(next.fromWallMs) })
}

function timesOf(day: SunDay, { offsetAt, wording }: SunWords): string {
  const parts: string[] = []
  const add = (name: 'dawn' | 'rise' | 'set' | 'dusk', wallMs: number | undefined): void => {
    if (wallMs !== undefined)
      parts.push(wording.say(name, { time: clockWords(wallMs, offsetAt(wallMs)) }))
  }
  const stays = wording.say(day.noonAltitudeDeg > 0 ? 'sunUpAllDay' : 'sunDoesNotRise')
  add('dawn', day.dawnWallMs)
  add('rise', day.riseWallMs)
  if (day.riseWallMs === undefined && day.setWallMs === undefined) parts.push(stays)
  add('set', day.setWallMs)
  add('dusk', day.duskWallMs)
  if (parts.length === 1 && parts[0] === stays) return stays
  return `${parts.join(' ')} ${zoneWords(offsetAt(day.noonWallMs))}`
}

const quarterTexts = {
  new: 'newMoon',
  full: 'fullMoon',
  'first quarter': 'firstQuarter',
  'last quarter': 'lastQuarter',
} as const

function moonText(atMs: number, { offsetAt, wording }: SunWords): string {
  const { litShare, waxing, next } = moonState(atMs)
  return wording.say('moon', {
    percent: Math.round(litShare * 100),
    trend: wording.say(waxing ? 'waxing' : 'waning'),
    quarter: wording.say(quarterTexts[next.quarter]),
    day: dayWords(next.wallMs, offsetAt(next.wallMs), wording),
  })
}

/** `At you: rise 13:05 set 01:20 UTC-2, full 29 Jun, new 14 Jul`; each the first of the day, or after it. */
function moonTimesText(reference: Reference, fromMs: number, words: SunWords): string {
  const { offsetAt, wording } = words
  const { riseWallMs, setWallMs, fullWallMs, newWallMs } = moonDay(reference.position, fromMs)
  const time = (name: 'rise' | 'set', wallMs: number | undefined): string =>
    wallMs === undefined
      ? wording.say(name === 'rise' ? 'noRise' : 'noSet')
      : wording.say(name, { time: clockWords(wallMs, offsetAt(wallMs)) })
  const day = (wallMs: number): string => dayWords(wallMs, offsetAt(wallMs), wording)
  const times = `${time('rise', riseWallMs)} ${time('set', setWallMs)} ${zoneWords(offsetAt(fromMs))}`
  const { atWords: at } = reference
  return capitalised(
    wording.say('moonTimes', { at, times, full: day(fullWallMs), new: day(newWallMs) }),
  )
}
