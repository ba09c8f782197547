import type { AirLanguage } from '../../words/air/texts.js'
import { languages } from '../../words/synonyms/all.js'
import {
  type LanguageSynonyms,
  phrasesOf,
  type Role,
  type Topic,
} from '../../words/synonyms/language.js'
import { foldSpelled } from './fold.js'
import { tokensOf, withoutArticles } from './tokens.js'

/** What a word or phrase means: a keyword, and arguments that go with it. */
export interface Meaning {
  readonly keyword: string
  readonly words: readonly string[]
  /** weak ones mean it only where nothing strong stands beside them */
  readonly strong: boolean
}

/** All words of all languages, folded, ready to be looked up; parts of a phrase are joined by single blanks. */
export interface Vocabulary {
  readonly meanings: ReadonlyMap<string, Meaning>
  readonly greetings: ReadonlySet<string>
  readonly thanks: ReadonlySet<string>
  readonly cancel: ReadonlySet<string>
  /** to the words that services know: 'domani' to 'tomorrow', 'lundi' to 'mon' */
  readonly arguments: ReadonlyMap<string, string>
  /** to 'jan' to 'dec'; mean a month only beside a number */
  readonly months: ReadonlyMap<string, string>
  readonly ignored: ReadonlySet<string>
  /** to what people look for on the way: 'trinkwasser' to 'water' */
  readonly topics: ReadonlyMap<string, Topic>
  /** verbs that beside a word for the board mean a notice of one's own */
  readonly putting: ReadonlySet<string>
  /** parts of names of bands, to those that `parseBand` knows: 'zentimeter' to 'cm' */
  readonly bandParts: ReadonlyMap<string, string>
  /** words and phrases that only one language has */
  readonly languages: ReadonlyMap<string, string>
  /** parts of the longest phrase */
  readonly phraseMax: number
  /** all that mean something by themselves */
  readonly words: ReadonlySet<string>
  /** all that stand in a phrase, too */
  readonly parts: ReadonlySet<string>
  /** verbs that beside a call sign mean a message to it */
  readonly sending: ReadonlySet<string>
  /** words and phrases by what they do in a sentence */
  readonly roles: ReadonlyMap<Role, ReadonlySet<string>>
  /** the first words of those */
  readonly roleBegins: ReadonlyMap<Role, ReadonlySet<string>>
  /** what the languages' words mean: our own services, not the club's */
  readonly keywords: ReadonlySet<string>
}

const bandPartNames = ['70', 'm', 'cm'] as const
const weekdayWords = ['sun', 'mon', 'tue', 'wed', 'thu', 'fri', 'sat'] as const
const monthWords = [
  ...['jan', 'feb', 'mar', 'apr', 'may', 'jun', 'jul', 'aug', 'sep', 'oct', 'nov', 'dec'],
] as const

/**
 * @param configured the club's own words, each with what it means, such as 'hut' to 'find hut'; they win over those of the languages
 */
export function createVocabulary(
  configured: Readonly<Record<string, string>> = {},
  own?: WordsOfLanguage,
  of: readonly LanguageSynonyms[] = languages,
): Vocabulary {
  // Some thousand words take a small board a good part of a second: not twice.
  const standard = of === languages ? standardVocabulary : vocabularyOf(of)
  const known = own === undefined ? standard : withLanguage(standard, own)
  return withWordsOfTheClub(known, configured)
}

/** A language of the club: what people send, each with what it means. */
interface WordsOfLanguage {
  readonly language: string
  readonly words: Readonly<Record<string, string>>
}

/** Its words win over those of the other languages, and say which language somebody writes. */
function withLanguage(standard: Vocabulary, { language, words }: WordsOfLanguage): Vocabulary {
  const known = new Map(standard.languages)
  for (const phrase of Object.keys(words).flatMap((one) => [...foldedForms(one)]))
    if (!standard.keywords.has(phrase)) known.set(phrase, language)
  return { ...withWordsOfTheClub(standard, words), languages: known }
}

/** The club's own words win, also against a strong one. */
function withWordsOfTheClub(
  standard: Vocabulary,
  configured: Readonly<Record<string, string>>,
): Vocabulary {
  const entries = Object.entries(configured)
  if (entries.length === 0) return standard
  const own = new Map<string, Meaning>()
  for (const [phrase, meaning] of entries)
    for (const folded of foldedForms(phrase))
      if (!own.has(folded)) own.set(folded, meaningOf(meaning, true))
  const meanings = new Map([...standard.meanings, ...own])
  const longest = Math.max(...[...own.keys()].map(partCount))
  return {
    ...standard,
    meanings,
    words: new Set([...standard.words, ...[...own.keys()].filter((one) => partCount(one) === 1)]),
    parts: new Set([...standard.parts, ...[...own.keys()].flatMap((one) => one.split(' '))]),
    phraseMax: Math.max(standard.phraseMax, longest),
    keywords: keywordsOf(meanings),
  }
}

function meaningOf(text: string, strong: boolean): Meaning {
  const [keyword = '', ...words] = text.trim().toLowerCase().split(/\s+/)
  return { keyword, words, strong }
}

const partCount = (phrase: string): number => phrase.split(' ').length

const keywordsOf = (meanings: ReadonlyMap<string, Meaning>): ReadonlySet<string> =>
  new Set([...meanings.values()].map(({ keyword }) => keyword))

function vocabularyOf(of: readonly LanguageSynonyms[]): Vocabulary {
  const meanings = new Map<string, Meaning>()
  const greetings = new Set<string>()
  const thanks = new Set<string>()
  const cancel = new Set<string>()
  const argumentWords = new Map<string, string>()
  const months = new Map<string, string>()
  const ignored = new Set<string>()
  const putting = new Set<string>()
  const sending = new Set<string>()
  const topics = new Map<string, Topic>()
  const bandParts = new Map<string, string>()
  const roles = new Map<Role, Set<string>>()
  const mean = (phrase: string, meaning: string, strong: boolean): void => {
    const meant = meaningOf(meaning, strong)
    for (const folded of foldedForms(phrase)) {
      const known = meanings.get(folded)
      if (known === undefined || (strong && !known.strong)) meanings.set(folded, meant)
    }
  }
  const put = (into: Set<string>, list: string): void => {
    for (const phrase of phrasesOf(list)) for (const folded of foldedForms(phrase)) into.add(folded)
  }
  const translate = <To extends string>(
    phrases: readonly string[],
    into: Map<string, To>,
    to: To,
  ): void => {
    for (const phrase of phrases)
      for (const folded of foldedForms(phrase)) if (!into.has(folded)) into.set(folded, to)
  }
  for (const language of of) {
    for (const [meaning, list] of Object.entries(language.strong))
      for (const phrase of phrasesOf(list)) mean(phrase, meaning, true)
    for (const [meaning, list] of Object.entries(language.weak))
      for (const phrase of phrasesOf(list)) mean(phrase, meaning, false)
    put(greetings, language.greetings)
    put(thanks, language.thanks)
    put(cancel, language.cancel)
    put(ignored, language.ignored)
    put(putting, language.putting)
    put(sending, language.sending)
    for (const [name, list] of Object.entries(language.roles)) {
      const role = name as Role
      if (!roles.has(role)) roles.set(role, new Set())
      put(roles.get(role)!, list)
    }
    for (const [topic, list] of Object.entries(language.topics))
      translate(phrasesOf(list), topics, topic as Topic)
    for (const [at, names] of phrasesOf(language.bands).entries())
      translate(names.split('/'), bandParts, bandPartNames[at]!)
    for (const [to, list] of Object.entries(language.arguments))
      translate(phrasesOf(list), argumentWords, to)
    // A form that is left out is an empty place in the list.
    for (const [at, names] of language.numbers.split(',').entries())
      translate(names.split('/'), argumentWords, String(at + 2))
    for (const [day, names] of phrasesOf(language.weekdays).entries())
      translate(names.split('/'), argumentWords, weekdayWords[day]!)
    for (const [month, names] of phrasesOf(language.months).entries())
      translate(names.split('/'), months, monthWords[month]!)
  }
  const known = [meanings, argumentWords, topics, bandParts].flatMap((map) => [...map.keys()])
  const roleBegins = new Map(
    [...roles].map(([role, list]) => [role, new Set([...list].map((one) => one.split(' ')[0]!))]),
  )
  const ofRoles = [...roles.values()].flatMap((phrases) => [...phrases])
  const lists = [greetings, thanks, cancel, ignored, putting, sending, ofRoles]
  const phrases = [...known, ...lists.flatMap((list) => [...list])]
  const phraseMax = Math.max(...phrases.map(partCount))
  const keywords = keywordsOf(meanings)
  return {
    ...{ meanings, greetings, thanks, cancel, arguments: argumentWords, months, ignored },
    ...{ topics, putting, sending, bandParts, roles, roleBegins },
    words: new Set([...phrases, ...months.keys()].filter((one) => partCount(one) === 1)),
    parts: new Set([...phrases, ...months.keys()].flatMap((one) => one.split(' '))),
    ...{ phraseMax, keywords, languages: wordsOfOne(of, keywords) },
  }
}

/** Keywords are nobody's language, whatever the word is in one of them. */
function wordsOfOne(
  of: readonly LanguageSynonyms[],
  keywords: ReadonlySet<string>,
): ReadonlyMap<string, string> {
  const known = new Map<string, AirLanguage | undefined>()
  for (const { language, ...lists } of of)
    for (const text of textsIn(lists))
      for (const phrase of text.split(/[,/]/).flatMap((one) => [...foldedForms(one)]))
        known.set(
          phrase,
          known.has(phrase) && known.get(phrase) !== language ? undefined : language,
        )
  const whole = [...known].filter((one): one is [string, AirLanguage] => one[1] !== undefined)
  return new Map(whole.filter(([phrase]) => phrase.length > 1 && !keywords.has(phrase)))
}

const textsIn = (value: unknown): string[] =>
  typeof value === 'string' ? [value] : Object.values(value as object).flatMap(textsIn)

/** With its accents left out, and with its umlauts spelled. */
function foldedForms(phrase: string): ReadonlySet<string> {
  const join = (text: string): string =>
    tokensOf(text)
      .map(({ folded }) => folded)
      .join(' ')
  const written = [join(phrase), join(foldSpelled(phrase))].map(withoutArticles)
  return new Set(
    [...written, ...written.map(shortened), ...written.map(shortenedMore)].filter(
      (form) => form !== '',
    ),
  )
}

/** As people key it: 'whats this', 'im lost', 'where r u'. */
const shortened = (phrase: string): string =>
  phrase
    .replace(/\b(what|where|who|how|when|that|it) is\b/g, '$1s')
    .replace(/\bi am\b/g, 'im')
    .replace(/\bare\b/g, 'r')
    .replace(/\byou\b/g, 'u')
    .replace(/\byour\b/g, 'ur')
    .replace(/\banyone\b/g, 'any1')
    .replace(/ for\b|\bfor /g, (one) => one.replace('for', '4'))

/** The same in French, Spanish and Italian: 'q haces', 'msg x Q1ABC', 'ke tempo fa'. */
const shortenedMore = (phrase: string): string =>
  phrase
    .replace(/\bque\b/g, 'q')
    .replace(/\bche\b/g, 'ke')
    .replace(/ (per|por)\b|\b(per|por) /g, (one) => one.replace(/per|por/, 'x'))
    .replace(/\bquoi\b/g, 'koi')

export const standardVocabulary: Vocabulary = vocabularyOf(languages)
