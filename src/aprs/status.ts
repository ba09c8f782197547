import { bad, good, type Result } from '../ax25/result.js'
import { findFrequency } from './frequency.js'
import { readText } from './text.js'
import { parseTimestamp, timestampLength } from './timestamp.js'
import type { StatusPayload } from './types.js'

/**
 * Reads `>092345zNet Control Center`, `>IO91SX/- My house` or `>IO91SX/- ^B7` (ch. 16), from the
 * `>` on.
 */
export function parseStatus(text: string): StatusPayload {
  const timestamp = parseTimestamp(text.slice(1, 1 + timestampLength))
  const timed = timestamp.ok && timestamp.value.form === 'dayHoursMinutes'
  const body = timed ? text.slice(1 + timestampLength) : text.slice(1)
  const place = /^([A-R]{2}\d\d(?:[A-Xa-x]{2})?)([/\\])([!-~])(?: (.*))?$/s.exec(body)
  const words = place === null ? body : (place[4] ?? '')
  const beam = parseBeam(words.slice(-3))
  const text1 = beam.ok ? words.slice(0, -3) : words
  const frequency = findFrequency(text1)
  return {
    kind: 'status',
    text: readText(frequency?.rest ?? text1).trim(),
    ...(timed ? { timestamp: timestamp.value } : {}),
    ...(place === null
      ? {}
      : { locator: place[1]!.toUpperCase(), symbol: { table: place[2]!, code: place[3]! } }),
    ...(beam.ok ? beam.value : {}),
    ...(frequency === undefined ? {} : { frequency: frequency.frequency }),
  }
}

/**
 * Reads `^B7`: antenna heading in tens of degrees (0 to 9, A to Z) and radiated power 10 n² watts.
 */
export function parseBeam(
  text: string,
): Result<{ readonly beamHeadingDeg: number; readonly radiatedPowerW: number }> {
  const parts = /^\^([0-9A-Z])([1-9:-K])$/.exec(text)
  if (parts === null) return bad('not a beam heading')
  return good({
    beamHeadingDeg: Number.parseInt(parts[1]!, 36) * 10,
    radiatedPowerW: 10 * (parts[2]!.charCodeAt(0) - 0x30) ** 2,
  })
}
