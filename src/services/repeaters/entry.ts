import type { Wording } from '../../words/air/wording.js'
import type { GeoPosition } from '../service.js'

/** What opens a repeater. */
export type AccessTone =
  /** a continuous tone (CTCSS) */
  | { readonly kind: 'tone'; readonly toneHz: number }
  /** a continuous digital code (DCS), three octal digits */
  | { readonly kind: 'code'; readonly code: string; readonly inverted?: true }
  /** a short tone of 1750 Hz */
  | { readonly kind: 'burst' }
  /** the code of a digital mode, such as 'CC1' or 'RAN3' */
  | { readonly kind: 'digital'; readonly text: string }

/** One repeater of the directory. */
export interface RepeaterEntry {
  /** place or common name; '' when the file has only call signs */
  readonly name: string
  readonly call: string
  readonly outputMHz: number
  /** input under (-) or over (+) the output; 0 for none, or only its sign when the file says no more */
  readonly offset: { readonly sign: -1 | 0 | 1; readonly shiftMHz?: number }
  readonly accessTone?: AccessTone
  /** 'FM' unless said; several with strokes between: 'FM/DMR' */
  readonly mode: string
  /** for members only, or private */
  readonly closed?: true
  /** planned, defective or switched off */
  readonly offAir?: true
}

/** One whose place the directory gives; only these can be searched by distance. */
export type PlacedRepeater = RepeaterEntry & GeoPosition

export const isPlaced = (entry: RepeaterEntry): entry is PlacedRepeater =>
  (entry as Partial<PlacedRepeater>).latitudeDeg !== undefined

/** Whether it is told to somebody who did not ask for closed ones, or for those off the air. */
export const isOffered = ({ closed, offAir }: RepeaterEntry): boolean =>
  closed !== true && offAir !== true

/**
 * As short as a message wants it: `Heron Knob N0CALL 146.940-0.6MHz tone 100Hz`, without the distance.
 * @param charactersMax the name is cut so that the whole fits
 */
export function repeaterWords(
  entry: RepeaterEntry,
  charactersMax: number,
  wording: Wording,
): string {
  const parts = [outputWords(entry, wording)]
  if (entry.accessTone) parts.push(toneWords(entry.accessTone, wording))
  if (entry.mode !== 'FM') parts.push(entry.mode)
  if (entry.closed) parts.push(wording.say('closed'))
  if (entry.offAir) parts.push(wording.say('offAir'))
  if (entry.name !== '' && entry.call !== '') parts.unshift(entry.call)
  const name = entry.name === '' ? entry.call : entry.name
  const room = charactersMax - parts.join(' ').length - 1
  return [name.slice(0, Math.max(0, room)).trim(), ...parts].join(' ').trim()
}

/** To the kilohertz, finer when the frequency needs it: '146.940', '438.7125'. */
function frequencyWords(megahertz: number): string {
  return megahertz.toFixed(4).replace(/0$/, '')
}

/** '146.940-0.6MHz'; '146.940MHz -' where only the side of the input is known. */
function outputWords(
  { outputMHz, offset: { sign, shiftMHz } }: RepeaterEntry,
  { decimal }: Wording,
): string {
  const output = decimal(frequencyWords(outputMHz))
  if (sign === 0) return `${output}MHz`
  const side = sign < 0 ? '-' : '+'
  return shiftMHz === undefined
    ? `${output}MHz ${side}`
    : `${output}${side}${decimal(Number(shiftMHz.toFixed(4)))}MHz`
}

function toneWords(tone: AccessTone, { say }: Wording): string {
  switch (tone.kind) {
    case 'tone':
      return say('tone', { hz: Number(tone.toneHz.toFixed(1)) })
    case 'code':
      return say(tone.inverted ? 'dcsInverted' : 'dcs', { code: tone.code })
    case 'burst':
      return say('burst')
    case 'digital':
      return tone.text
  }
}
