/** A short text that the club keeps to be asked for by its topic. */
export interface Card {
  readonly title: string
  /** further words by which it is found */
  readonly keywords: readonly string[]
  readonly text: string
  /** file and line where it begins, for the log */
  readonly place: string
}
