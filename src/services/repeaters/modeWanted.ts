import { knownMode } from './modes.js'

/** What a word of a question asks for: one kind of modulation. */
export interface ModeWanted {
  /** as it is told: 'DMR' */
  readonly words: string
  /** @param mode of an entry: 'FM', 'FM/DMR' */
  includes(mode: string): boolean
  /** of several, each */
  readonly each?: readonly ModeWanted[]
}

/** @returns undefined for a word that names no mode */
export function parseMode(word: string): ModeWanted | undefined {
  const folded = word.toLowerCase()
  if (/^(digital|numerique|digitale)$/.test(folded))
    return { words: 'digital', includes: (mode) => mode !== 'FM' }
  const words = knownMode(folded)
  // 'voice' and 'am' are words of sentences.
  if (words === undefined || /^(voice|am|tier.*)$/.test(folded)) return undefined
  return { words, includes: (mode) => mode.split('/').includes(words) }
}

/** 'Fusion or D-STAR', 'DMR and FM': repeaters of one or the other. */
export const eitherMode = (one: ModeWanted, other: ModeWanted): ModeWanted =>
  one.words.split('/').includes(other.words)
    ? one
    : {
        words: `${one.words}/${other.words}`,
        includes: (mode) => one.includes(mode) || other.includes(mode),
        each: [...(one.each ?? [one]), other],
      }
