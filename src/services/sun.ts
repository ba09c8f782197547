import type { OffsetAt } from '../runtime/localTime.js'
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
import { clockWords, dayWords, zoneWords } from './timeWords.js'

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
      const words = question.words.filter((word) => word !== 'moon')
      const asked = readArguments(words, context, options.known, { dates: true })
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
      const moon = moonText(day.daysAhead > 0 ? day.fromWallMs : nowMs, offsetAt)
      if (reference === undefined) return composed([whereAreYou('sun'), moon, ...notes])
      if (words.length < question.words.length)
        return composed([moon, moonTimesText(reference, day.fromWallMs, offsetAt), ...notes])
      return composed([sunText(reference, wanted, nowMs, offsetAt), moon, ...notes])
    },
  }
}

function noteOn(asked: Arguments, context: ServiceContext): string | undefined {
  if (asked.call !== undefined && placeAsked(asked, context) === undefined)
    return `Where ${asked.call} is, is not known here.`
  return unknownText(asked.unknown)
}

const placeText = (reference: Reference): string =>
  reference.of === 'asker' ? 'you' : reference.words.replace('of ', '')

function sunText(
  reference: Reference,
  day: DayWanted | undefined,
  nowMs: number,
  offsetAt: OffsetAt,
): string {
  const today = readDay(['today'], nowMs, offsetAt)!.day
  const place = placeText(reference)
  if (day !== undefined && day.daysAhead !== 0) {
    const name =
      day.daysAhead === 1 ? 'Tomorrow' : dayWords(day.fromWallMs, offsetAt(day.fromWallMs))
    return `${name} at ${place}: ${timesOf(sunDay(reference.position, day.fromWallMs), offsetAt)}`
  }
  const times = sunDay(reference.position, today.fromWallMs)
  const isOver = (times.duskWallMs ?? times.noonWallMs + 43_200_000) < nowMs
  if (!isOver || day !== undefined) return `Today at ${place}: ${timesOf(times, offsetAt)}`
  const next = readDay(['tomorrow'], nowMs, offsetAt)!.day
  return `Tomorrow at ${place}: ${timesOf(sunDay(reference.position, next.fromWallMs), offsetAt)}`
}

function timesOf(day: SunDay, offsetAt: OffsetAt): string {
  const parts: string[] = []
  const add = (name: string, wallMs: number | undefined): void => {
    if (wallMs !== undefined) parts.push(`${name} ${clockWords(wallMs, offsetAt(wallMs))}`)
  }
  const stays = day.noonAltitudeDeg > 0 ? 'sun up all day' : 'sun does not rise'
  add('dawn', day.dawnWallMs)
  add('rise', day.riseWallMs)
  if (day.riseWallMs === undefined && day.setWallMs === undefined) parts.push(stays)
  add('set', day.setWallMs)
  add('dusk', day.duskWallMs)
  if (parts.length === 1 && parts[0] === stays) return stays
  return `${parts.join(' ')} ${zoneWords(offsetAt(day.noonWallMs))}`
}

function moonText(atMs: number, offsetAt: OffsetAt): string {
  const { litShare, waxing, next } = moonState(atMs)
  const trend = waxing ? 'waxing' : 'waning'
  const day = dayWords(next.wallMs, offsetAt(next.wallMs))
  return `Moon ${Math.round(litShare * 100)}% lit, ${trend}, ${next.quarter} on ${day}`
}

/** `At you: moon rise 13:05 set 01:20 UTC-2, full 29 Jun, new 14 Jul`; each the first of the day, or after it. */
function moonTimesText(reference: Reference, fromMs: number, offsetAt: OffsetAt): string {
  const { riseWallMs, setWallMs, fullWallMs, newWallMs } = moonDay(reference.position, fromMs)
  const time = (name: string, wallMs: number | undefined): string =>
    wallMs === undefined ? `no ${name}` : `${name} ${clockWords(wallMs, offsetAt(wallMs))}`
  const day = (wallMs: number): string => dayWords(wallMs, offsetAt(wallMs))
  const times = `${time('rise', riseWallMs)} ${time('set', setWallMs)} ${zoneWords(offsetAt(fromMs))}`
  return `At ${placeText(reference)}: ${times}, full ${day(fullWallMs)}, new ${day(newWallMs)}`
}
