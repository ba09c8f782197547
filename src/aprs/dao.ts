import { decodeBase91 } from './base91.js'

/*
 * !DAO!: datum and a further digit of latitude and longitude (1.2 addition to ch. 5). An upper-case
 * datum letter brings two decimal digits, a lower-case one two base-91 characters, blanks no
 * precision. The text's own example gives 27 and 59 for two characters, of which the first is
 * scaled and truncated and the second is not; here both are scaled by 1.1, as its rule says.
 */

export interface DatumOption {
  /** upper case; W is WGS84 */
  readonly datum: string
  /** to add to the minutes of each, away from zero; 0 without precision */
  readonly latitudeMinutes: number
  readonly longitudeMinutes: number
  /** the text without the option */
  readonly rest: string
}

/** Finds the last !DAO! of a text. */
export function findDatumOption(text: string): DatumOption | undefined {
  const forms = /^(.*)!(?:([A-Z])(\d)(\d)|([a-z])([!-{])([!-{])|([A-Za-z]) {2})!(.*)$/s
  const parts = forms.exec(text)
  if (parts === null) return undefined
  const rest = parts[1]! + parts[9]!
  const datum = (parts[2] ?? parts[5] ?? parts[8])!.toUpperCase()
  if (parts[2] !== undefined) {
    const [latitude, longitude] = [Number(parts[3]), Number(parts[4])] as const
    return { datum, latitudeMinutes: latitude / 1000, longitudeMinutes: longitude / 1000, rest }
  }
  if (parts[5] !== undefined) {
    return { datum, latitudeMinutes: scaled(parts[6]!), longitudeMinutes: scaled(parts[7]!), rest }
  }
  return { datum, latitudeMinutes: 0, longitudeMinutes: 0, rest }
}

/** A base-91 digit times 1.1, in hundredths of a hundredth of a minute. */
function scaled(character: string): number {
  const digit = decodeBase91(character)
  return digit.ok ? (digit.value * 1.1) / 10_000 : 0
}
