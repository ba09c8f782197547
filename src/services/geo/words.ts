import type { Wording } from '../../words/air/wording.js'
import { compassPointAt } from './compass.js'
import type { GreatWay } from './geodesic.js'

export type DistanceUnits = 'km' | 'miles'

/** The international mile, exact. */
const mileM = 1609.344

/** As short as is useful: '850m', '3.4km', '12km', '0.5mi', '7mi'. */
export function distanceWords(
  distanceM: number,
  units: DistanceUnits,
  { decimal }: Pick<Wording, 'decimal'>,
): string {
  if (units === 'miles') return `${decimal(short(distanceM / mileM))}mi`
  return distanceM < 950
    ? `${Math.round(distanceM / 10) * 10}m`
    : `${decimal(short(distanceM / 1000))}km`
}

/** '12km NE'; a few metres away there is no direction to give. */
export function wayWords(
  way: GreatWay,
  units: DistanceUnits,
  wording: Pick<Wording, 'decimal' | 'listed'>,
): string {
  const distance = distanceWords(way.distanceM, units, wording)
  return way.distanceM < 5 ? distance : `${distance} ${compassWords(way.bearingDeg, wording)}`
}

/** The compass point as the language has it: 'NO' is north-east in German, north-west in French. */
export const compassWords = (bearingDeg: number, wording: Pick<Wording, 'listed'>): string =>
  wording.listed('compass', compassPointAt(bearingDeg))

/** How long ago, in its largest unit: 'now', '12min', '3h', '2d'. */
export function ageWords(ageMs: number, wording: Wording): string {
  return Math.round(Math.max(0, ageMs) / 60_000) < 1
    ? wording.say('now')
    : spanWords(ageMs, wording)
}

/** A length of time, in its largest unit: '0min', '12min', '3h', '2d'. */
export function spanWords(spanMs: number, wording: Wording): string {
  const minutes = Math.round(Math.max(0, spanMs) / 60_000)
  if (minutes < 100) return wording.say('minutes', { count: minutes })
  const hours = Math.round(minutes / 60)
  return hours < 48
    ? wording.say('hours', { count: hours })
    : wording.say('days', { count: Math.round(hours / 24) })
}

/** As ageWords, as an end of a sentence: 'just now', '12min ago'. */
export function agoWords(ageMs: number, wording: Wording): string {
  return Math.round(Math.max(0, ageMs) / 60_000) < 1
    ? wording.say('justNow')
    : wording.say('ago', { age: spanWords(ageMs, wording) })
}

const short = (value: number): string => (value < 9.95 ? value.toFixed(1) : value.toFixed(0))
