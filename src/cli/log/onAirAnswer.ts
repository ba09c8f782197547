import { InvalidArgumentError } from 'commander'
import type { Config } from '../../config/schema.js'
import { offsetAtIn } from '../../runtime/localTime.js'
import { clockSetIn } from '../../setup/clockSet.js'
import { aroundMs, minuteMs, onAirAt, totalMs } from '../../setup/onAir.js'
import type { EventTable } from '../../store/events.js'
import type { Keying, KeyingTable } from '../../store/keyings.js'
import { type Moment, momentOption, wallMsOf } from '../shared/times.js'

/** A time of day as a neighbour says it, of the station's local time, or a moment as anywhere. */
export type AskedTime = Moment | { readonly minuteOfDay: number }

export function askedTime(text: string): AskedTime {
  const match = /^(\d{1,2}):(\d{2})$/.exec(text)
  if (match === null) return momentOption(text)
  const [hour, minute] = [Number(match[1]), Number(match[2])]
  if (hour > 23 || minute > 59) throw new InvalidArgumentError('Expected a time such as 20:14.')
  return { minuteOfDay: hour * 60 + minute }
}

/** Where what was on the air is on record, with what may make the record wrong. */
export interface OnAirRecord {
  readonly keyings: KeyingTable
  readonly events: Pick<EventTable, 'query'>
}

/** 'Was it on then?', to be printed: a line each. */
export function onAirLines(
  asked: AskedTime,
  config: Config,
  record: OnAirRecord,
  nowWallMs: number,
): string[] {
  const { station, radios } = config
  const offsetAt = offsetAtIn(station)
  const moments =
    'minuteOfDay' in asked
      ? lastAt(asked.minuteOfDay, nowWallMs, offsetAt)
      : [wallMsOf(asked, nowWallMs)]
  const time = (ms: number): string => {
    const offset = offsetAt(ms)
    const text = new Date(ms + offset * minuteMs).toISOString()
    return `${text.slice(0, 10)} ${text.slice(11, 19)} (${zoneText(offset)})`
  }
  return [
    ...(moments.length > 1 ? ['The clocks were set back that day, and that time came twice.'] : []),
    ...moments.flatMap((wallMs) => momentLines(wallMs, { config, record, nowWallMs, time })),
    ...clockSetLines(record, Math.min(...moments), time),
    ...radios.flatMap(({ transmit }) =>
      transmit.enabled && transmit.frequencyMHz !== undefined
        ? [
            `It sends on ${transmit.frequencyMHz} MHz${transmit.powerW === undefined ? '' : ` with ${transmit.powerW} W`}.`,
          ]
        : [],
    ),
    ...(station.controlOperator === '' ? [] : [`Who answers for it: ${station.controlOperator}.`]),
    'Times are those of its own clock; what it sent stands in its log as it happened, as far back as that is kept.',
  ]
}

interface MomentParts {
  readonly config: Config
  readonly record: OnAirRecord
  readonly nowWallMs: number
  readonly time: (ms: number) => string
}

function momentLines(wallMs: number, parts: MomentParts): string[] {
  const { config, record, nowWallMs, time } = parts
  const { station, radios } = config
  const { keyings } = record
  const one = ({ atWallMs, durationMs, radio }: Keying): string =>
    `${time(atWallMs)} for ${(durationMs / 1000).toFixed(1)} s${radios.length > 1 ? ` on ${radios[radio]?.name ?? `radio ${radio}`}` : ''}`
  // One that began long before may still have been on.
  const near = keyings.between(wallMs - aroundMs - minuteMs, wallMs + aroundMs)
  const { during, before, after, around } = onAirAt(near, wallMs)
  const minutes = (2 * aroundMs) / minuteMs
  const { firstWallMs } = keyings
  const isKnown = firstWallMs !== undefined && firstWallMs <= wallMs
  const lost = during.length > 0 || !isKnown ? [] : lostLines(wallMs, parts)
  const none = lost.length === 0 ? 'No.' : 'No transmission is on record.'
  return [
    `Station ${station.call}: did it send in the minute from ${time(wallMs)}?`,
    ...(wallMs > nowWallMs - minuteMs ? ['That is not over yet.'] : []),
    ...(during.length > 0
      ? ['Yes:', ...during.map((keying) => `  ${one(keying)}`)]
      : [isKnown ? none : unknownText(firstWallMs, time)]),
    ...lost,
    `Before that: ${before === undefined ? 'nothing in half an hour' : one(before)}.`,
    `After that: ${after === undefined ? 'nothing in half an hour' : one(after)}.`,
    `In the ${minutes} minutes around it: ${timesText(around.length)}, ${(totalMs(around) / 1000).toFixed(1)} s in all.`,
  ]
}

/** A process that is killed takes what it has not written with it. */
function lostLines(wallMs: number, { config, record, nowWallMs, time }: MomentParts): string[] {
  const { events, keyings } = record
  const toWallMs = wallMs + minuteMs
  const next = firstStart(events, wallMs, nowWallMs)
  if (next === undefined) return []
  const { flushS } = config.store
  const isHeardOf =
    next > toWallMs &&
    (keyings.between(toWallMs, next).length > 0 ||
      events.query({ sinceWallMs: toWallMs, untilWallMs: next, limit: 1 }).length > 0)
  return isHeardOf
    ? []
    : [
        `Its program was started again at ${time(next)}, and nothing is on record between. If it was cut off before that, what it sent in the last ${flushS} s of that run is missing here.`,
      ]
}

/** When the program was started first, from then on. */
function firstStart(
  events: OnAirRecord['events'],
  fromWallMs: number,
  nowWallMs: number,
): number | undefined {
  // A table has the newest first under its limit: in growing steps, since starts are few.
  for (let untilWallMs = fromWallMs + dayMs; ; untilWallMs += 7 * dayMs) {
    const [first] = events.query({ kinds: ['started'], sinceWallMs: fromWallMs, untilWallMs })
    if (first !== undefined) return first.atWallMs
    if (untilWallMs > nowWallMs) return undefined
  }
}

/** The clock was set later, or back to before this: what was stamped before may be off. */
function clockSetLines(
  { events }: OnAirRecord,
  fromWallMs: number,
  time: (ms: number) => string,
): string[] {
  const found = clockSetIn(events, fromWallMs - dayMs)
  const shown = found.slice(0, clockSetsShown)
  const more = found.length - shown.length
  return [
    ...shown.map(
      ({ atWallMs, how }) =>
        `Its clock was changed, as it saw at ${time(atWallMs)}: ${how}. What it sent before may stand at a time that is wrong by as much.`,
    ),
    ...(more > 0 ? [`It was changed ${more} more times since.`] : []),
  ]
}

const clockSetsShown = 3

/** An upgrade, a new database, or what is too old to be kept. */
const unknownText = (firstWallMs: number | undefined, time: (ms: number) => string): string =>
  firstWallMs === undefined
    ? 'That is not known: no transmission is on record here.'
    : `That is not known: its record begins with the transmission of ${time(firstWallMs)}.`

const timesText = (count: number): string => (count === 1 ? 'once' : `${count} times`)

const dayMs = 86_400_000

/** The latest such minute that has begun; two of them on the day on which the clocks are set back, the earlier first. */
function lastAt(
  minuteOfDay: number,
  nowWallMs: number,
  offsetAt: (ms: number) => number,
): number[] {
  const offsetMs = offsetAt(nowWallMs) * minuteMs
  const localMidnightMs = Math.floor((nowWallMs + offsetMs) / dayMs) * dayMs
  const localMs = localMidnightMs + minuteOfDay * minuteMs
  const past = localMs <= nowWallMs + offsetMs ? localMs : localMs - dayMs
  // By the offset of that time, should the clocks have been changed since.
  const offsets = [...new Set([offsetAt(past - dayMs), offsetAt(past + dayMs)])]
  const shown = offsets
    .map((minutes) => past - minutes * minuteMs)
    .filter((ms) => ms <= nowWallMs && ms + offsetAt(ms) * minuteMs === past)
  return shown.length > 0 ? shown : [past - offsetAt(past - offsetMs) * minuteMs]
}

function zoneText(offsetMinutes: number): string {
  if (offsetMinutes === 0) return 'UTC'
  const size = Math.abs(offsetMinutes)
  const hours = String(Math.floor(size / 60)).padStart(2, '0')
  return `UTC${offsetMinutes < 0 ? '-' : '+'}${hours}:${String(size % 60).padStart(2, '0')}`
}
