import { findDatumOption } from './dao.js'
import { findFrequency } from './frequency.js'
import { findCommentTelemetry } from './telemetry.js'
import { readText } from './text.js'
import type { Position, PositionDetails } from './types.js'
import { metersPerFoot } from './units.js'

/**
 * Takes the values out of a position's comment: base-91 telemetry, !DAO!, altitude, frequency.
 * @param text an octet string
 * @param position as read so far; comes back refined by !DAO!
 * @param name of the object, which may hold a frequency
 */
export function readComment(
  text: string,
  position: Position,
  name?: string,
): Pick<PositionDetails, 'position' | 'telemetry' | 'altitudeM' | 'frequency' | 'comment'> {
  const telemetry = findCommentTelemetry(text)
  const datum = findDatumOption(telemetry?.rest ?? text)
  const altitude = findAltitude(datum?.rest ?? telemetry?.rest ?? text)
  const frequency = findFrequency(altitude.rest, name)
  return {
    position: datum === undefined ? position : refine(position, datum),
    ...(telemetry === undefined ? {} : { telemetry: telemetry.telemetry }),
    ...(altitude.altitudeM === undefined ? {} : { altitudeM: altitude.altitudeM }),
    ...(frequency === undefined ? {} : { frequency: frequency.frequency }),
    comment: readText(frequency?.rest ?? altitude.rest).trim(),
  }
}

/** Finds `/A=001234`, feet, anywhere in a comment (ch. 6). */
export function findAltitude(text: string): { readonly altitudeM?: number; readonly rest: string } {
  const parts = /\/A=(\d{6}|-\d{5})/.exec(text)
  if (parts === null) return { rest: text }
  const rest = text.slice(0, parts.index) + text.slice(parts.index + parts[0].length)
  return { altitudeM: Number(parts[1]) * metersPerFoot, rest }
}

function refine(
  position: Position,
  option: { datum: string; latitudeMinutes: number; longitudeMinutes: number },
): Position {
  // Extra digits say nothing where the sender has blanked the ones before them.
  if (position.ambiguityDigits > 0) return { ...position, datum: option.datum }
  const awayFromZero = (degrees: number, minutes: number, degreesMax: number): number => {
    const size = Math.min(Math.abs(degrees) + minutes / 60, degreesMax)
    return degrees < 0 ? -size : size
  }
  return {
    ...position,
    latitudeDeg: awayFromZero(position.latitudeDeg, option.latitudeMinutes, 90),
    longitudeDeg: awayFromZero(position.longitudeDeg, option.longitudeMinutes, 180),
    datum: option.datum,
  }
}
