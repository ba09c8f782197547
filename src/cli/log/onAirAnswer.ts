import { InvalidArgumentError } from 'commander'
import type { Config } from '../../config/schema.js'
import { offsetAtIn } from '../../runtime/localTime.js'
import { aroundMs, minuteMs, onAirAt, totalMs } from '../../setup/onAir.js'
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

/** 'Was it on then?', to be printed: a line each. */
export function onAirLines(
  asked: AskedTime,
  { station, radios }: Config,
  keyings: KeyingTable,
  nowWallMs: number,
): string[] {
  const offsetAt = offsetAtIn(station)
  const wallMs =
    'minuteOfDay' in asked
      ? lastAt(asked.minuteOfDay, nowWallMs, offsetAt)
      : wallMsOf(asked, nowWallMs)
  const time = (ms: number): string => {
    const offset = offsetAt(ms)
    const text = new Date(ms + offset * minuteMs).toISOString()
    return `${text.slice(0, 10)} ${text.slice(11, 19)} (${zoneText(offset)})`
  }
  const one = ({ atWallMs, durationMs, radio }: Keying): string =>
    `${time(atWallMs)} for ${(durationMs / 1000).toFixed(1)} s${radios.length > 1 ? ` on ${radios[radio]?.name ?? `radio ${radio}`}` : ''}`
  // One that began long before may still have been on.
  const near = keyings.between(wallMs - aroundMs - minuteMs, wallMs + aroundMs)
  const { during, before, after, around } = onAirAt(near, wallMs)
  const minutes = (2 * aroundMs) / minuteMs
  const { firstWallMs } = keyings
  const isKnown = during.length > 0 || (firstWallMs !== undefined && firstWallMs <= wallMs)
  return [
    `Station ${station.call}: did it send in the minute from ${time(wallMs)}?`,
    ...(wallMs > nowWallMs ? ['That is not over yet.'] : []),
    ...(isKnown ? [] : [unknownText(firstWallMs, time)]),
    ...(during.length === 0
      ? isKnown
        ? ['No.']
        : []
      : ['Yes:', ...during.map((keying) => `  ${one(keying)}`)]),
    `Before that: ${before === undefined ? 'nothing in half an hour' : one(before)}.`,
    `After that: ${after === undefined ? 'nothing in half an hour' : one(after)}.`,
    `In the ${minutes} minutes around it: ${timesText(around.length)}, ${(totalMs(around) / 1000).toFixed(1)} s in all.`,
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

/** An upgrade, a new database, or what is too old to be kept. */
const unknownText = (firstWallMs: number | undefined, time: (ms: number) => string): string =>
  firstWallMs === undefined
    ? 'That is not known: no transmission is on record here.'
    : `That is not known: its record begins with the transmission of ${time(firstWallMs)}.`

const timesText = (count: number): string => (count === 1 ? 'once' : `${count} times`)

/** The latest such minute that has begun. */
function lastAt(minuteOfDay: number, nowWallMs: number, offsetAt: (ms: number) => number): number {
  const dayMs = 86_400_000
  const offsetMs = offsetAt(nowWallMs) * minuteMs
  const localMidnightMs = Math.floor((nowWallMs + offsetMs) / dayMs) * dayMs
  const localMs = localMidnightMs + minuteOfDay * minuteMs
  const past = localMs <= nowWallMs + offsetMs ? localMs : localMs - dayMs
  // By the offset of that time, should the clocks have been changed since.
  return past - offsetAt(past - offsetMs) * minuteMs
}

function zoneText(offsetMinutes: number): string {
  if (offsetMinutes === 0) return 'UTC'
  const size = Math.abs(offsetMinutes)
  const hours = String(Math.floor(size / 60)).padStart(2, '0')
  return `UTC${offsetMinutes < 0 ? '-' : '+'}${hours}:${String(size % 60).padStart(2, '0')}`
}
