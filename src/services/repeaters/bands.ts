import { type AmateurBand, amateurBands, bandOf } from '../../regulations/amateurBands.js'

/** What a word of a question asks for: a part of the spectrum, and what to call it. */
export interface BandWanted {
  readonly words: string
  includes(outputMHz: number): boolean
}

const rangeOf = (words: string, fromMHz: number, toMHz: number): BandWanted => ({
  words,
  includes: (outputMHz) => outputMHz >= fromMHz && outputMHz < toMHz,
})

/**
 * The parts of the spectrum by name: VHF from 30 to 300 MHz (ITU Radio Regulations, article 2; from memory), UHF up to 1 GHz, as hand-helds
 * have it (common practice, no source).
 */
const ranges: ReadonlyMap<string, BandWanted> = new Map([
  ['hf', rangeOf('HF', 3, 30)],
  ['vhf', rangeOf('VHF', 30, 300)],
  ['uhf', rangeOf('UHF', 300, 1000)],
])

/** A frequency that was given to the kilohertz may be this far off. */
const sameFrequencyMHz = 0.006

/**
 * '2m', '70cm', '440' (the band it lies in), '146.94' (that frequency).
 * @returns undefined when it is none of these
 */
export function parseBand(word: string): BandWanted | undefined {
  const text = word.toLowerCase().replace(',', '.')
  const range = ranges.get(text)
  if (range !== undefined) return range
  const named = amateurBands.find((band) => wordOf(band) === text)
  if (named) return ofBand(named)
  const figure = /^(\d{2,4}(\.\d+)?)(mhz)?$/.exec(text)
  if (!figure) return undefined
  const wantedMHz = Number(figure[1])
  const around = bandOf(wantedMHz)
  // A postal code, or a year; nobody asks for the repeaters above 13 cm by a bare figure.
  if ((around === undefined || around.fromMHz > 3000) && /^\d{4}$/.test(text)) return undefined
  if (figure[2] !== undefined || around === undefined) {
    const slackMHz = figure[2] === undefined ? 0.5 : sameFrequencyMHz
    return {
      words: `${figure[1]} MHz`,
      includes: (outputMHz) => Math.abs(outputMHz - wantedMHz) <= slackMHz,
    }
  }
  return ofBand(around)
}

/** As people send it: '70cm'. */
const wordOf = ({ name }: AmateurBand): string => name.replace(' ', '')

const ofBand = (band: AmateurBand): BandWanted => ({
  words: wordOf(band),
  includes: (outputMHz) => outputMHz >= band.fromMHz && outputMHz <= band.toMHz,
})
