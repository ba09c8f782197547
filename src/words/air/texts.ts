/**
 * What the node says of its own, in one language: each fits one message of 67 characters with the longest names and numbers. Plain
 * ASCII, as it goes out. Keywords stay English, for they are what people send.
 */
export interface AirTexts {
  readonly hello: (call: string, heard: string) => string
  readonly thanks: (call: string, heard: string) => string
  readonly cancelled: string
  /** for hello and thanks, with a comma in front */
  readonly heardDirect: string
  readonly heardDirectWith: (ebN0Db: number) => string
  readonly heardVia: (call: string) => string
  readonly absent: (keyword: string) => string
  /** a word is 16 characters at most; examples are keywords */
  readonly offer: (word: string, what: string) => string
  readonly or: string
  readonly notKnown: (word: string, examples: string) => string
  readonly failed: (keyword: string) => string
  readonly next: (keyword: string) => string
  readonly sendPosition: string
  /** another node that has announced the service; the age as '3min' or '2h' */
  readonly askElsewhere: (call: string, age: string) => string
}

/** As ISO 639 has them. */
export const airLanguages = ['en', 'de', 'fr', 'es', 'it'] as const
export type AirLanguage = (typeof airLanguages)[number]
