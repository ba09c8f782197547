/*
 * Text of strangers (frames, files, devices) on its way to a terminal, a journal, a table or another program. What could
 * command a terminal, begin a line of its own or turn the order of what is shown is written as percent-encoding does it
 * (RFC 3986, 2.1): % and two hex digits for each UTF-8 octet. Everything else stays, letters of any script included.
 *
 * The characters: C0, DEL and C1 controls; U+061C, U+200E, U+200F, U+202A to U+202E and U+2066 to U+206F, which set the
 * direction of writing (Unicode Standard Annex 9, table 1; the last six are deprecated formats, chapter 23 of the Unicode
 * Standard, from memory); U+2028 and U+2029, the separators of lines and paragraphs; and halves of surrogate pairs.
 */

const outsideAscii =
  '\\u007f-\\u009f\\u061c\\u200e\\u200f\\u2028-\\u202e\\u2066-\\u206f\\ud800-\\udfff'
const harmful = new RegExp(`[\\u0000-\\u001f${outsideAscii}]`, 'gu')
const harmfulButLineEnds = new RegExp(`[\\u0000-\\u0009\\u000b-\\u001f${outsideAscii}]`, 'gu')
const leftRawByJson = new RegExp(`[${outsideAscii}]`, 'gu')

/** One line's worth: no line end is left in it. Twice is the same as once. */
export const harmlessText = (text: string): string => text.replace(harmful, percentEncoded)

/** Several lines of ours, as a list of problems is: line feeds stay. */
export const harmlessLines = (text: string): string =>
  text.replace(harmfulButLineEnds, percentEncoded)

/**
 * JSON text whose values are the same, and in which nothing stands raw that harmlessText would write otherwise: JSON itself
 * escapes only C0 controls.
 * @param json as JSON.stringify gives it
 */
export const harmlessJson = (json: string): string =>
  json.replace(
    leftRawByJson,
    (character) => `\\u${character.charCodeAt(0).toString(16).padStart(4, '0')}`,
  )

/**
 * A cell of a CSV file (RFC 4180). What a spreadsheet would take for a formula begins with an apostrophe, also where blanks
 * stand in front of it or the sign is of full width; control characters as harmlessText has them.
 */
export function csvCell(text: string): string {
  const shown = harmlessText(text)
  const isFormula = /^\s*[=+\-@\uff1d\uff0b\uff0d\uff20]/.test(text)
  const safe = isFormula || /^[\t\r]/.test(text) ? `'${shown}` : shown
  return /[",]/.test(safe) ? `"${safe.replaceAll('"', '""')}"` : safe
}

const percentEncoded = (character: string): string =>
  octetsOf(character.charCodeAt(0))
    .map((octet) => `%${octet.toString(16).toUpperCase().padStart(2, '0')}`)
    .join('')

/** UTF-8's way also for half of a surrogate pair, which has no UTF-8. @param code below 0x10000: no other is harmful */
function octetsOf(code: number): number[] {
  if (code < 0x80) return [code]
  if (code < 0x800) return [0xc0 | (code >> 6), 0x80 | (code & 0x3f)]
  return [0xe0 | (code >> 12), 0x80 | ((code >> 6) & 0x3f), 0x80 | (code & 0x3f)]
}
