import { Counts } from './tally.js'

/** The ways in which the node gets over something, by what it says then. */
const recoveryPatterns: readonly (readonly [name: string, pattern: RegExp])[] = [
  ['a damaged database was set aside', /store-damaged/],
  ['another file in its place was opened anew', /store-replaced/],
  ['a disk that could not be used was done without', /until then nothing is kept/],
  ['rows that are not whole were left out', /not whole/],
  ['a full disk was reported', /store-full/],
  ['a read-only disk was reported', /store-read-only/],
  ['safe start without what was left open', /safe 1/],
  ['safe start without the database', /safe 2/],
  ['an unknown past counted as a full one', /is not known/],
]

/** All of which a campaign must have seen; those besides are seen by what happens. */
export const recoveryNames: readonly string[] = [
  ...recoveryPatterns.map(([name]) => name),
  'what was left open was taken up again',
  'what was gathered before a kill was found again',
  'an older database was brought up to date',
  'a disk that was full was written to again',
  'a disk that was read-only was written to again',
  'a service that throws does well again',
  'a service that hangs does well again',
  'a service that grows does well again',
  'who asked a service that hangs was told',
  'audio came back',
  'the audio output came back',
  'the helper of the key line came back',
  'held or released by radio',
  'a hold by radio survived a restart',
  'an identification that was owed went over a restart',
]

/** What shows that something works. */
const signs = ['heard', 'keyed', 'asked', 'said', 'migrated'] as const
type Sign = (typeof signs)[number]

/** Counts what was got over. */
export class Recoveries extends Counts {
  private readonly expected = new Map<Sign, Set<string>>(signs.map((sign) => [sign, new Set()]))

  /** Something is as it should be again: it counts as got over when this shows it. */
  expect(name: string, sign: Sign): void {
    this.expected.get(sign)!.add(name)
  }

  shows(sign: Sign): void {
    const names = this.expected.get(sign)!
    for (const name of names) this.add(name)
    names.clear()
  }

  /** @param text what the node said, with the code of its fault in front */
  told(text: string): void {
    for (const [name, pattern] of recoveryPatterns) if (pattern.test(text)) this.add(name)
  }
}
