import type { GeoPosition } from '../service.js'

/** What opens a repeater: a continuous tone, or a digital code. */
export type AccessTone =
  | { readonly kind: 'tone'; readonly toneHz: number }
  | { readonly kind: 'code'; readonly code: string }

/** One repeater of the directory. */
export interface RepeaterEntry extends GeoPosition {
  /** place or common name; '' when the file has only call signs */
  readonly name: string
  readonly call: string
  readonly outputMHz: number
  /** input under (-) or over (+) the output; 0 for none, or only its sign when the file says no more */
  readonly offset: { readonly sign: -1 | 0 | 1; readonly shiftMHz?: number }
  readonly accessTone?: AccessTone
  /** 'FM' unless said */
  readonly mode: string
}

/**
 * As short as a message wants it: `Heron Knob N0CALL 146.940-0.6 T100`, without the distance.
 * @param charactersMax the name is cut so that the whole fits
 */
export function repeaterWords(entry: RepeaterEntry, charactersMax: number): string {
  const parts = [`${frequencyWords(entry.outputMHz)}${offsetWords(entry.offset)}`]
  if (entry.accessTone) parts.push(toneWords(entry.accessTone))
  if (entry.mode !== 'FM') parts.push(entry.mode)
  if (entry.name !== '' && entry.call !== '') parts.unshift(entry.call)
  const name = entry.name === '' ? entry.call : entry.name
  const room = charactersMax - parts.join(' ').length - 1
  return [name.slice(0, Math.max(0, room)).trim(), ...parts].join(' ').trim()
}

/** To the kilohertz, finer when the frequency needs it: '146.940', '438.7125'. */
function frequencyWords(megahertz: number): string {
  return megahertz.toFixed(4).replace(/0$/, '')
}

const offsetWords = ({ sign, shiftMHz }: RepeaterEntry['offset']): string => {
  if (sign === 0) return ''
  const shift = shiftMHz === undefined ? '' : String(Number(shiftMHz.toFixed(4)))
  return `${sign < 0 ? '-' : '+'}${shift}`
}

const toneWords = (tone: AccessTone): string =>
  tone.kind === 'tone' ? `T${Number(tone.toneHz.toFixed(1))}` : `D${tone.code}`
