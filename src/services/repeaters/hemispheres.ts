/** What O stands for in a list: Ost in German, ouest, oeste, ovest elsewhere. */
export type MeaningOfO = 'E' | 'W' | 'unknown'

/** Words for the hemispheres, in lower case, with their letters. */
export const hemispheres: Readonly<Record<string, string>> = {
  north: 'N',
  nord: 'N',
  norte: 'N',
  noord: 'N',
  n: 'N',
  south: 'S',
  sued: 'S',
  süd: 'S',
  sud: 'S',
  sur: 'S',
  sul: 'S',
  zuid: 'S',
  s: 'S',
  east: 'E',
  ost: 'E',
  est: 'E',
  este: 'E',
  leste: 'E',
  oost: 'E',
  e: 'E',
  west: 'W',
  ouest: 'W',
  oeste: 'W',
  ovest: 'W',
  w: 'W',
}
