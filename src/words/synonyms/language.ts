import type { AirLanguage } from '../air/texts.js'

/**
 * What people of one language call things. Each text is a list of words and phrases with commas between them. They may have
 * accents; case, accents and punctuation are folded away before they are compared, with umlauts both ways (ä is a and ae).
 */
export interface LanguageSynonyms {
  readonly language: AirLanguage
  /** by what is meant, a keyword and perhaps its arguments: the words that mean it wherever they stand in a text */
  readonly strong: Readonly<Record<string, string>>
  /** the same, for words that mean it only where no strong one stands beside them */
  readonly weak: Readonly<Record<string, string>>
  readonly greetings: string
  readonly thanks: string
  /** wants nothing more */
  readonly cancel: string
  /** what an argument is called; the key is the word that services know */
  readonly arguments: Readonly<Partial<Record<ArgumentWord, string>>>
  /** two to ten, each with its other forms behind slashes; what is another word besides is left out */
  readonly numbers: string
  /** Sunday first, each with its short forms behind slashes */
  readonly weekdays: string
  /** January first, likewise */
  readonly months: string
  /** politeness, articles, prepositions, and the verbs that questions are made with: left out of arguments */
  readonly ignored: string
}

type ArgumentWord =
  | 'today'
  | 'tonight'
  | 'tomorrow'
  | 'overmorrow'
  | 'days'
  | 'hours'
  | 'sat'
  | 'next'
  | 'all'
  | 'me'
  | 'here'
  | 'node'
  | 'more'

/** The words and phrases of a list. */
export const phrasesOf = (list: string): readonly string[] =>
  list
    .split(',')
    .map((phrase) => phrase.trim())
    .filter((phrase) => phrase !== '')
