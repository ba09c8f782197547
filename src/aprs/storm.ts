import { bad, good, type Result } from '../ax25/result.js'
import type { StormReport } from './types.js'
import { kmhPerKnot, kmPerNauticalMile } from './units.js'

/** Reads `/HC/150^200/0980>090&030%040` after course and speed of a storm's symbol (ch. 12). */
export function parseStorm(
  text: string,
): Result<{ readonly storm: StormReport; readonly rest: string }> {
  const parts = stormForm.exec(text)
  if (parts === null) return bad('not a storm')
  const value = (index: number, factor: number): number | undefined =>
    /^\d+$/.test(parts[index] ?? '') ? Number(parts[index]) * factor : undefined
  const fields = {
    sustainedWindKmh: value(2, kmhPerKnot),
    gustKmh: value(3, kmhPerKnot),
    pressureHpa: value(4, 1),
    hurricaneRadiusKm: value(5, kmPerNauticalMile),
    tropicalStormRadiusKm: value(6, kmPerNauticalMile),
    wholeGaleRadiusKm: value(7, kmPerNauticalMile),
  }
  const known = Object.entries(fields).filter(([, field]) => field !== undefined)
  const storm: StormReport = { stormKind: kinds[parts[1]!]!, ...Object.fromEntries(known) }
  return good({ storm, rest: text.slice(parts[0].length) })
}

const kinds: Readonly<Record<string, StormReport['stormKind']>> = {
  TS: 'tropical storm',
  HC: 'hurricane',
  TD: 'tropical depression',
}

const stormForm = new RegExp(
  '^/(TS|HC|TD)/([\\d. ]{3})(?:\\^([\\d. ]{3}))?(?:/([\\d. ]{4}))?' +
    '(?:>([\\d. ]{3}))?(?:&([\\d. ]{3}))?(?:%([\\d. ]{3}))?',
)
