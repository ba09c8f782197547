/** A decimal number with a point or a comma, blanks and a plus sign allowed; undefined for anything else. */
export function parseDecimal(text: string): number | undefined {
  const bare = text.replace(/[\s\u2009\u00a0]/g, '').replace(/\u2212/g, '-')
  if (!/^[+-]?(\d+([.,]\d*)?|[.,]\d+)$/.test(bare)) return undefined
  return Number(bare.replace(',', '.'))
}

/**
 * An angle in degrees, as directories write it: '-75.25', '40,5', '40.5 N', "40°30'18\" S", '40 30.3 N', '40-30-18 N',
 * and with degrees and minutes, or seconds too, in one figure: '4030.30N', '0403018W'.
 * West and south are negative.
 * @param letters the hemispheres that are allowed, positive one first: 'NS' or 'EW'
 * @returns undefined when it is none of these or out of range
 */
export function parseAngle(text: string, letters: 'NS' | 'EW'): number | undefined {
  const limitDeg = letters === 'NS' ? 90 : 180
  const bare = text
    .replace(/\u2212/g, '-')
    .replace(/[’´`‘]/g, "'")
    .replace(/[”“]|''/g, '"')
    .replace(/\s+/g, ' ')
    .trim()
  const found = /^([NSEW])? ?([+-]?)(.*?) ?([NSEW])?$/i.exec(bare)
  if (!found || (found[1] && found[4])) return undefined
  const letter = (found[1] ?? found[4] ?? '').toUpperCase()
  if (letter !== '' && (!letters.includes(letter) || found[2] === '-')) return undefined
  const negative = found[2] === '-' || letter === letters[1]
  const signed = (angle: number | undefined): number | undefined => {
    if (angle === undefined || angle > limitDeg) return undefined
    return negative && angle > 0 ? -angle : angle
  }
  const parts = found[3]!.split(/[\s°ºd:'′"″-]+/i).filter((part) => part !== '')
  if (parts.length < 1 || parts.length > 3) return undefined
  const joined = parts.length === 1 ? degreesAndMinutes(parts[0]!, letters) : undefined
  // Nobody writes whole degrees with zeros in front until they have as many digits.
  if (joined !== undefined && parts[0]!.startsWith('0')) return signed(joined)
  let angleDeg = 0
  for (const [at, part] of parts.entries()) {
    const value = parseDecimal(part)
    const whole = at < parts.length - 1
    if (value === undefined || value < 0) return undefined
    if ((whole && !Number.isInteger(value)) || (at > 0 && value >= 60)) return undefined
    angleDeg += value / 60 ** at
  }
  return signed(angleDeg > limitDeg ? joined : angleDeg)
}

/** '4512.50' is 45 degrees and 12.5 minutes, '451230' has seconds; the latter need all their digits. */
function degreesAndMinutes(text: string, letters: 'NS' | 'EW'): number | undefined {
  const found = (
    letters === 'NS'
      ? /^(\d\d)(\d\d)(?:(\d\d)?([.,]\d+)?)$/
      : /^(\d{3}|\d\d(?=\d\d(?:[.,]|$)))(\d\d)(?:(\d\d)?([.,]\d+)?)$/
  ).exec(text)
  if (found === null) return undefined
  const [, degrees, minutes, seconds, fraction] = found
  const part = Number(`0${(fraction ?? '').replace(',', '.')}`)
  const minute = Number(minutes) + (seconds === undefined ? part : 0)
  const second = seconds === undefined ? 0 : Number(seconds) + part
  if (minute >= 60 || second >= 60) return undefined
  return Number(degrees) + minute / 60 + second / 3600
}
