import { compassPoint } from './compass.js'
import type { GreatWay } from './geodesic.js'

export type DistanceUnits = 'km' | 'miles'

/** The international mile, exact. */
const mileM = 1609.344

/** As short as is useful: '850m', '3.4km', '12km', '0.5mi', '7mi'. */
export function distanceWords(distanceM: number, units: DistanceUnits): string {
  if (units === 'miles') return `${short(distanceM / mileM)}mi`
  return distanceM < 950 ? `${Math.round(distanceM / 10) * 10}m` : `${short(distanceM / 1000)}km`
}

/** '12km NE'; a few metres away there is no direction to give. */
export function wayWords(way: GreatWay, units: DistanceUnits): string {
  const distance = distanceWords(way.distanceM, units)
  return way.distanceM < 5 ? distance : `${distance} ${compassPoint(way.bearingDeg)}`
}

/** How long ago, in its largest unit: 'now', '12min', '3h', '2d'. */
export function ageWords(ageMs: number): string {
  const minutes = Math.round(Math.max(0, ageMs) / 60_000)
  if (minutes < 1) return 'now'
  if (minutes < 100) return `${minutes}min`
  const hours = Math.round(minutes / 60)
  return hours < 48 ? `${hours}h` : `${Math.round(hours / 24)}d`
}

/** As ageWords, as an end of a sentence: 'just now', '12min ago'. */
export function agoWords(ageMs: number): string {
  const age = ageWords(ageMs)
  return age === 'now' ? 'just now' : `${age} ago`
}

const short = (value: number): string => (value < 9.95 ? value.toFixed(1) : value.toFixed(0))
