/** The ways in which the node gets over something, by what it says then. */
export const recoveryPatterns: readonly (readonly [name: string, pattern: RegExp])[] = [
  ['a damaged database was set aside', /store-damaged/],
  ['another file in its place was opened anew', /store-replaced/],
  ['a disk that could not be used was done without', /until then nothing is kept/],
  ['rows that are not whole were left out', /not whole/],
  ['a full disk was reported', /store-full|ENOSPC|full/],
  ['a read-only disk was reported', /read-?only/],
  ['safe start without what was left open', /safe 1/],
  ['safe start without the database', /safe 2/],
  ['an unknown past counted as a full one', /is not known/],
]
