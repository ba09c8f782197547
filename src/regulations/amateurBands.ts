/** An amateur band, at its widest over the three ITU regions and their countries. */
export interface AmateurBand {
  readonly name: string
  readonly fromMHz: number
  readonly toMHz: number
  /** where it is narrower or missing, in words */
  readonly note?: string
  /** the part that all three regions have; absent with a note: not even a part */
  readonly everywhereMHz?: readonly [from: number, to: number]
}

/**
 * Bands in which a 1200 baud packet station or an FM repeater may be found. From memory, but for 144 to 148 MHz
 * (47 CFR 97.301, 97.305); from 9 cm up as article 5 of the ITU Radio Regulations has them (from memory); no licence is read here: what one country allows another may not.
 */
export const amateurBands: readonly AmateurBand[] = [
  { name: '160 m', fromMHz: 1.8, toMHz: 2 },
  {
    name: '80 m',
    fromMHz: 3.5,
    toMHz: 4,
    note: 'ends at 3.8 MHz in ITU Region 1',
    everywhereMHz: [3.5, 3.8],
  },
  {
    name: '40 m',
    fromMHz: 7,
    toMHz: 7.3,
    note: 'ends at 7.2 MHz in ITU Regions 1 and 3',
    everywhereMHz: [7, 7.2],
  },
  { name: '30 m', fromMHz: 10.1, toMHz: 10.15 },
  { name: '20 m', fromMHz: 14, toMHz: 14.35 },
  { name: '17 m', fromMHz: 18.068, toMHz: 18.168 },
  { name: '15 m', fromMHz: 21, toMHz: 21.45 },
  { name: '12 m', fromMHz: 24.89, toMHz: 24.99 },
  { name: '10 m', fromMHz: 28, toMHz: 29.7 },
  {
    name: '6 m',
    fromMHz: 50,
    toMHz: 54,
    note: 'ends at 52 MHz in most of ITU Region 1',
    everywhereMHz: [50, 52],
  },
  { name: '4 m', fromMHz: 69.9, toMHz: 70.5, note: 'in some countries of ITU Region 1 only' },
  {
    name: '2 m',
    fromMHz: 144,
    toMHz: 148,
    note: 'ends at 146 MHz in ITU Region 1',
    everywhereMHz: [144, 146],
  },
  { name: '1.25 m', fromMHz: 219, toMHz: 225, note: 'in ITU Region 2 only' },
  {
    name: '70 cm',
    fromMHz: 420,
    toMHz: 450,
    note: '430 to 440 MHz in ITU Region 1',
    everywhereMHz: [430, 440],
  },
  { name: '33 cm', fromMHz: 902, toMHz: 928, note: 'in ITU Region 2 only' },
  {
    name: '23 cm',
    fromMHz: 1240,
    toMHz: 1325,
    note: 'ends at 1300 MHz in most countries',
    everywhereMHz: [1240, 1300],
  },
  { name: '13 cm', fromMHz: 2300, toMHz: 2450, note: 'in most countries only in part' },
  {
    name: '9 cm',
    fromMHz: 3300,
    toMHz: 3500,
    note: 'in ITU Region 1 in some countries and in part',
  },
  {
    name: '6 cm',
    fromMHz: 5650,
    toMHz: 5925,
    note: 'ends at 5850 MHz in ITU Regions 1 and 3',
    everywhereMHz: [5650, 5850],
  },
  { name: '3 cm', fromMHz: 10_000, toMHz: 10_500, note: 'in some countries only in part' },
]

/** The band that a frequency lies in; undefined outside all of them. */
export const bandOf = (frequencyMHz: number): AmateurBand | undefined =>
  amateurBands.find((band) => frequencyMHz >= band.fromMHz && frequencyMHz <= band.toMHz)
