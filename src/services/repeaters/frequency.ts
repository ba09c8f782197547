import { parseDecimal } from '../data/figures.js'

export type FrequencyUnit = 'hz' | 'khz' | 'mhz' | 'ghz'
const perMHz: Readonly<Record<FrequencyUnit, number>> = { hz: 1e6, khz: 1e3, mhz: 1, ghz: 1e-3 }

/** What repeaters are told of: from the 10 m to the 3 cm band. */
const lowestMHz = 28
const highestMHz = 10_500
export const frequencyExpected = `a frequency from ${lowestMHz} to ${highestMHz} MHz`

/** A figure in a directory's cell, and the unit that stands with it. */
interface Figure {
  readonly value: number
  readonly unit: FrequencyUnit | undefined
}

function readFigure(text: string): Figure | undefined {
  const found = /^(.*?)\s*(?:([kmg])?(hz))?$/i.exec(text.trim())
  const value = parseDecimal(ungrouped(found?.[1] ?? ''))
  if (value === undefined) return undefined
  const unit =
    found?.[3] === undefined ? undefined : (`${found[2] ?? ''}hz`.toLowerCase() as FrequencyUnit)
  return { value, unit }
}

/** '438.712,5' and '438.712.500' have groups of thousands; '438.7125' and '438.712' have none. */
function ungrouped(text: string): string {
  const bare = text.trim()
  const mixed = /^[+-]?\d{1,3}(?:([.,' ])\d{3})+([.,])\d+$/.exec(bare)
  if (mixed !== null && mixed[1] !== mixed[2]) return bare.replaceAll(mixed[1]!, '')
  return /^[+-]?\d{1,3}([.,' ])\d{3}(?:\1\d{3})+$/.test(bare) ? bare.replace(/[.,' ]/g, '') : bare
}

/**
 * A frequency in MHz; undefined when it is none, or out of range. Without a named unit the size tells: nothing below
 * 10,500 can be kHz, nothing below 28,000,000 can be Hz.
 */
export function parseFrequency(
  text: string,
  headerUnit: FrequencyUnit | undefined,
): number | undefined {
  const figure = readFigure(text)
  if (figure === undefined) return undefined
  const { value } = figure
  const guessed = value >= 28_000_000 ? 'hz' : value >= 28_000 ? 'khz' : 'mhz'
  const megahertz = rounded(value / perMHz[figure.unit ?? headerUnit ?? guessed])
  return megahertz >= lowestMHz && megahertz <= highestMHz ? megahertz : undefined
}

/** What a cell about the offset says: which side the input lies, how far, or the input frequency itself. */
export interface ShiftSaid {
  readonly sign?: -1 | 0 | 1
  /** without its sign */
  readonly shiftMHz?: number
  readonly inputMHz?: number
}

/** No repeater has its input nearer, and hardly one farther away (common practice, no source). */
const shiftMinMHz = 0.01
const shiftMaxMHz = 100
export const shiftExpected = 'an offset such as -0.6 or -600 kHz, a sign, or simplex'

const minus = /^(?:[-−–—]|minus|neg(?:ativ[eo]?)?|dup ?-|down|low(?:er)?|d)$/i
const plus = /^(?:\+|plus|pos(?:itiv[eo]?)?|dup ?\+|up|high(?:er)?|u)$/i
const none = /^(?:simplex|s|sx|none|no|off|kein[e]?|aucun|ninguno|nessuno|n\/a|0|=)$/i
const split = /^(?:split|odd ?split|cross ?band|crossband)$/i

/**
 * A cell of an offset or a sign column: '-0.6', '600 kHz-', '-', 'plus', 'simplex'. Without a named unit the size tells
 * (from 100 on kHz, from 100,000 on Hz), or that the figure is a frequency of the output's own band.
 * @returns undefined when it cannot be read; nothing in it for an empty cell and for 'split'
 */
export function parseShift(
  text: string,
  headerUnit: FrequencyUnit | undefined,
  outputMHz: number,
): ShiftSaid | undefined {
  const bare = text.trim().replace(/[−–—]/g, '-')
  if (bare === '' || split.test(bare)) return {}
  if (minus.test(bare)) return { sign: -1 }
  if (plus.test(bare)) return { sign: 1 }
  if (none.test(bare)) return { sign: 0 }
  const found = /^(\+\/-|±|[-+]|minus|plus|dup[-+])?\s*(\S.*?)\s*([-+])?$/i.exec(bare)
  if (!found || (found[1] && found[3])) return undefined
  const mark =
    found[1] === '+/-' || found[1] === '±' ? '' : (found[1] ?? found[3] ?? '').toLowerCase()
  const figure = readFigure(found[2]!)
  if (figure === undefined || figure.value < 0) return undefined
  const { value, unit } = figure
  const likeOutput = value / perMHz[unit ?? 'mhz']
  if (mark === '' && likeOutput >= lowestMHz && Math.abs(likeOutput - outputMHz) <= shiftMaxMHz)
    return { inputMHz: rounded(likeOutput) }
  const guessed = value >= 100_000 ? 'hz' : value >= 100 ? 'khz' : 'mhz'
  const shiftMHz = rounded(value / perMHz[unit ?? headerUnit ?? guessed])
  if (shiftMHz === 0) return { sign: 0 }
  if (shiftMHz < shiftMinMHz || shiftMHz > shiftMaxMHz) return undefined
  if (mark === '') return { shiftMHz }
  return { sign: /-|minus/.test(mark) ? -1 : 1, shiftMHz }
}

const rounded = (megahertz: number): number => Number(megahertz.toFixed(6))
