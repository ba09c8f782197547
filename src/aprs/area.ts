import { bad, good, type Result } from '../ax25/result.js'
import type { AreaReport } from './types.js'
import { kmPerMile } from './units.js'

/*
 * Area objects (ch. 11): symbol `\l`, then `Tyy/Cxx` and for lines perhaps `{www}`.
 * 1.0.1 scales the offsets by 1/100 degree; the correction of addendum 1.1, n² / 1500 degrees, is
 * used here.
 */

/** Reads shape, colour and offsets; a `1` in place of the slash makes colours 10 to 15. */
export function parseArea(
  text: string,
): Result<{ readonly area: AreaReport; readonly rest: string }> {
  const parts = /^(\d)(\d\d)([/1])(\d)(\d\d)(?:\{(\d{1,3})\})?/.exec(text)
  if (parts === null) return bad('area without shape, colour and offsets')
  const shape = Number(parts[1])
  const color = Number(parts[4]) + (parts[3] === '1' ? 10 : 0)
  const colorName = colorNames[color]
  if (colorName === undefined) return bad(`area colour ${color} does not exist`)
  const latitudeDigits = Number(parts[2])
  const longitudeDigits = Number(parts[5])
  const area: AreaReport = {
    shape,
    shapeName: shapeNames[shape]!,
    color,
    colorName,
    latitudeDigits,
    longitudeDigits,
    latitudeOffsetDeg: latitudeDigits ** 2 / 1500,
    longitudeOffsetDeg: longitudeDigits ** 2 / 1500,
    ...(parts[6] === undefined ? {} : { corridorKm: Number(parts[6]) * kmPerMile }),
  }
  return good({ area, rest: text.slice(parts[0].length) })
}

const shapeNames = [
  'open circle',
  'line to the right',
  'open ellipse',
  'open triangle',
  'open box',
  'colour-filled circle',
  'line to the left',
  'colour-filled ellipse',
  'colour-filled triangle',
  'colour-filled box',
]

const brightColors = ['black', 'blue', 'green', 'cyan', 'red', 'violet', 'yellow', 'grey']
const colorNames = [
  ...brightColors.map((name) => `${name} high`),
  ...brightColors.map((name) => `${name} low`),
]
