export interface Band {
  readonly name: string
  readonly fromMHz: number
  readonly toMHz: number
}

/** Amateur bands with FM voice repeaters, as wide as any ITU region has them (Radio Regulations, from memory). */
export const bands: readonly Band[] = [
  { name: '10m', fromMHz: 28, toMHz: 29.7 },
  { name: '6m', fromMHz: 50, toMHz: 54 },
  { name: '4m', fromMHz: 69.9, toMHz: 70.5 },
  { name: '2m', fromMHz: 144, toMHz: 148 },
  { name: '1.25m', fromMHz: 219, toMHz: 225 },
  { name: '70cm', fromMHz: 420, toMHz: 450 },
  { name: '33cm', fromMHz: 902, toMHz: 928 },
  { name: '23cm', fromMHz: 1240, toMHz: 1325 },
  { name: '13cm', fromMHz: 2300, toMHz: 2450 },
]

/** What a word of a question asks for: a part of the spectrum, and what to call it. */
export interface BandWanted {
  readonly words: string
  includes(outputMHz: number): boolean
}

/** A frequency that was given to the kilohertz may be this far off. */
const sameFrequencyMHz = 0.006

/**
 * '2m', '70cm', '440' (the band it lies in), '146.94' (that frequency).
 * @returns undefined when it is none of these
 */
export function parseBand(word: string): BandWanted | undefined {
  const text = word.toLowerCase().replace(',', '.')
  const named = bands.find((band) => band.name === text)
  if (named) return ofBand(named)
  const figure = /^(\d{2,4}(\.\d+)?)(mhz)?$/.exec(text)
  if (!figure) return undefined
  const wantedMHz = Number(figure[1])
  const around = bands.find((band) => wantedMHz >= band.fromMHz && wantedMHz <= band.toMHz)
  if (figure[2] !== undefined || around === undefined) {
    const slackMHz = figure[2] === undefined ? 0.5 : sameFrequencyMHz
    return {
      words: `${figure[1]} MHz`,
      includes: (outputMHz) => Math.abs(outputMHz - wantedMHz) <= slackMHz,
    }
  }
  return ofBand(around)
}

const ofBand = (band: Band): BandWanted => ({
  words: band.name,
  includes: (outputMHz) => outputMHz >= band.fromMHz && outputMHz <= band.toMHz,
})
