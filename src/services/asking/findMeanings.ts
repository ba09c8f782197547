import type { Service } from '../service.js'
import { isCallWord, isDesignator } from './kinds.js'
import { phrasesWithoutArticles, type Token, withoutArticles } from './tokens.js'
import type { Offered } from './understanding.js'

/** Words of a text that name a service. */
export interface Found {
  readonly service: Service
  readonly begin: number
  readonly length: number
  /** arguments that the words carry in themselves */
  readonly words: readonly string[]
  readonly strong: boolean
  readonly byKeyword: boolean
  /** the text's words where one of them came apart: 'repeaters2' */
  readonly tokens?: readonly Token[]
}

/** Length of the longest phrase at a place that is wanted; 0 for none. */
export function phraseAt(
  tokens: readonly Token[],
  at: number,
  phraseMax: number,
  wanted: (phrase: string) => boolean,
): number {
  const most = Math.min(phraseMax + articlesMax, tokens.length - at)
  for (let length = most; length > 0; length--)
    if (wanted(phraseOf(tokens, at, length))) return length
  return 0
}

/** Articles that somebody may put into the longest phrase. */
const articlesMax = 2

/** As the vocabulary has it, without the articles within. */
export function phraseOf(tokens: readonly Token[], at: number, length: number): string {
  let ofPlace = phrases.get(tokens)
  if (ofPlace === undefined) {
    ofPlace = new Map()
    phrases.set(tokens, ofPlace)
  }
  let byLength = ofPlace.get(at)
  if (byLength === undefined) {
    byLength = phrasesWithoutArticles(foldedOf(tokens, at, keptLength))
    ofPlace.set(at, byLength)
  }
  return byLength[length - 1] ?? withoutArticles(foldedOf(tokens, at, length).join(' '))
}

const foldedOf = (tokens: readonly Token[], at: number, length: number): string[] =>
  tokens.slice(at, at + length).map(({ folded }) => folded)

/** By place and length: each way to understand a text asks for the same phrases. */
const phrases = new WeakMap<readonly Token[], Map<number, readonly string[]>>()
/** Longer ones are rarely asked for. */
const keptLength = 10

const figures = /^([a-z]+)-?(\d{1,4}(?:m|cm|mhz|km)?)$/
const figuresFirst = /^(\d{1,2})([a-z]{3,})$/

/** What is named at this place: a keyword, else the longest phrase that means a service which is offered. */
export function foundAt(tokens: readonly Token[], at: number, offered: Offered): Found | undefined {
  const token = tokens[at]
  if (token === undefined || offered.isName?.(token.raw) === true) return undefined
  const { services, vocabulary } = offered
  const named = (keyword: string): Service | undefined =>
    services.find((service) => service.keyword === keyword)
  const word = hyphenedAt(tokens, at, services) ?? keyedBy(token, services)
  const keyed = word && isVerbOf(word.service, tokens, at, offered) ? undefined : word
  const length = phraseAt(tokens, at, vocabulary.phraseMax, (phrase) => {
    const meaning = vocabulary.meanings.get(phrase)
    return meaning !== undefined && named(meaning.keyword) !== undefined
  })
  const isOfRoad = isPassOfRoad(tokens, at, offered)
  // What is not one of our own keywords is the club's, and theirs wins.
  if (keyed !== undefined && (length <= 1 || !vocabulary.keywords.has(keyed.service.keyword)))
    return { ...keyed, begin: at, words: [], strong: !isOfRoad, byKeyword: !isOfRoad }
  if (length > 0) {
    const meaning = vocabulary.meanings.get(phraseOf(tokens, at, length))!
    const { keyword, words } = meaning
    const strong = meaning.strong && !(isOfRoad && length === 1)
    return { service: named(keyword)!, begin: at, length, words, strong, byKeyword: false }
  }
  const countFirst = figuresFirst.exec(token.folded)
  if (countFirst !== null) return foundBehind(countFirst[1]!, countFirst[2]!, at, tokens, offered)
  const glued = isDesignator(token.raw) ? null : figures.exec(token.folded)
  if (glued === null) return undefined
  const [, letters = '', number = ''] = glued
  const apart = [
    ...tokens.slice(0, at),
    { raw: letters, folded: letters, end: token.end - number.length },
    { raw: number, folded: number, end: token.end },
    ...tokens.slice(at + 1),
  ]
  const found = foundAt(apart, at, offered) ?? begunBy(letters, at, offered)
  return found?.strong ? { ...found, tokens: apart } : undefined
}

const passWords: ReadonlySet<string> = new Set(['pass', 'paso', 'passo', 'passage'])
const beforePlaces: ReadonlySet<string> = new Set([
  ...['the', 'at', 'on', 'over', 'der', 'den', 'dem', 'am', 'auf', 'beim', 'vom', 'im', 'zum'],
  ...['el', 'en', 'de', 'del', 'al', 'il', 'dal', 'sul', 'lo', 'au', 'du', 'le'],
])

/** 'At the pass', 'en el paso', 'Kestrel Pass': rather one of the mountains than one of a satellite, where the text names anything else. */
function isPassOfRoad(
  tokens: readonly Token[],
  at: number,
  { services, vocabulary }: Offered,
): boolean {
  const before = tokens[at - 1]
  if (before === undefined || !passWords.has(tokens[at]!.folded)) return false
  if (beforePlaces.has(before.folded)) return true
  const isKnown = [vocabulary.words, vocabulary.parts].some((words) => words.has(before.folded))
  const isName = services.some(({ recognises }) => recognises?.([before.raw]) === true)
  return /^[a-z]{4,}$/.test(before.folded) && !isKnown && !isName
}

const passedOn: ReadonlySet<string> = new Set([
  ...['message', 'messages', 'msg', 'on', 'it', 'along', 'word', 'this', 'that', 'my'],
])

/** 'Tell me the time', 'pass it on', 'I am back': the keyword is a verb of the sentence. */
function isVerbOf(
  { keyword }: Service,
  tokens: readonly Token[],
  at: number,
  { vocabulary, isName }: Offered,
): boolean {
  const others = tokens.slice(at + 1)
  if (!vocabulary.keywords.has(keyword)) return false
  if (keyword === 'back') return at > 0 && !others.some(({ raw }) => /\d/.test(raw))
  if (others.length === 0) return false
  if (keyword === 'tell')
    return !others.some(({ raw }) => isCallWord(raw) || isName?.(raw) === true) && others.length > 1
  return keyword === 'pass' && passedOn.has(others[articlesAt(others)]?.folded ?? '')
}

const articlesAt = (tokens: readonly Token[]): number => (tokens[0]?.folded === 'a' ? 1 : 0)

type Keyed = Pick<Found, 'service' | 'length'>

function keyedBy({ folded }: Token, services: readonly Service[]): Keyed | undefined {
  const service =
    services.find(({ keyword }) => keyword === folded) ??
    services.find(({ synonyms }) => synonyms?.includes(folded))
  return service && { service, length: 1 }
}

/** A keyword with a hyphen is sent as it stands, as several words or as one: 'check-in', 'check in', 'checkin'. */
function hyphenedAt(
  tokens: readonly Token[],
  at: number,
  services: readonly Service[],
): Keyed | undefined {
  for (const service of services)
    for (const name of [service.keyword, ...(service.synonyms ?? [])]) {
      if (!name.includes('-')) continue
      const parts = name.split('-').filter((part) => part !== '')
      if (parts.every((part, index) => tokens[at + index]?.folded === part))
        return { service, length: parts.length }
      if (tokens[at]!.folded === parts.join('')) return { service, length: 1 }
    }
  return undefined
}

/** '3rptr'. */
function foundBehind(
  number: string,
  letters: string,
  at: number,
  tokens: readonly Token[],
  offered: Offered,
): Found | undefined {
  const { end } = tokens[at]!
  const apart = [
    ...tokens.slice(0, at),
    { raw: letters, folded: letters, end },
    { raw: number, folded: number, end },
    ...tokens.slice(at + 1),
  ]
  const found = foundAt(apart, at, offered)
  return found?.strong ? { ...found, tokens: apart } : undefined
}

const begunBy = (letters: string, at: number, { services }: Offered): Found | undefined => {
  const begun = services.filter(({ keyword }) => letters.length >= 3 && keyword.startsWith(letters))
  if (begun.length !== 1) return undefined
  return { service: begun[0]!, begin: at, length: 1, words: [], strong: true, byKeyword: true }
}

/** Everything in a text that names a service, first to last, without overlaps. */
export function findAll(
  tokens: readonly Token[],
  begin: number,
  offered: Offered,
): readonly Found[] {
  // In the middle of a sentence the keyword of a person's own text is a word as any other: 'have I got post'.
  const { services } = offered
  const within = { ...offered, services: services.filter(({ takes }) => takes !== 'text') }
  const all: Found[] = []
  for (let at = 0; at < tokens.length; ) {
    const inAll = foundAt(tokens, at, offered)
    const other = begin === 0 && at === 0 ? inAll : foundAt(tokens, at, within)
    // Of two, the longer phrase: 'mensaje a' leaves one, where 'mensaje' asks for those that wait.
    const isLonger = inAll?.byKeyword === false && inAll.length > (other?.length ?? 0)
    const found = isLonger ? inAll : (other ?? inAll)
    if (found !== undefined) all.push(found)
    at += found?.length ?? 1
  }
  return all
}

/** What one letter asks for. Own services have words of their own. */
export const oneLetterWords: Readonly<Record<string, string>> = {
  b: 'board',
  c: 'conditions',
  f: 'find',
  g: 'clock',
  h: 'help',
  l: 'leave',
  m: 'collect',
  n: 'repeaters',
  p: 'pass',
  q: 'help',
  r: 'repeaters',
  s: 'sun',
  t: 'clock',
  w: 'conditions',
}

/** A text that begins with a single letter of the table: 'w', 'r 2', 'r2'. */
export function oneLetter(
  tokens: readonly Token[],
  begin: number,
  offered: Offered,
): Found | undefined {
  // The letter may be an article elsewhere: it counts as the first word only.
  for (const at of new Set([0, begin])) {
    const token = tokens[at]
    const parts = /^([a-z])(\d{1,2})?$/.exec(token?.folded ?? '')
    const service = offered.services.find(
      ({ keyword }) => keyword === oneLetterWords[parts?.[1] ?? ''],
    )
    if (token === undefined || parts === null || service === undefined) continue
    const found = { service, begin: at, length: 1, words: [], strong: true, byKeyword: true }
    const [, letter = '', number] = parts
    if (number === undefined) return found
    const apart = [
      ...tokens.slice(0, at),
      { raw: letter, folded: letter, end: token.end - number.length },
      { raw: number, folded: number, end: token.end },
      ...tokens.slice(at + 1),
    ]
    return { ...found, tokens: apart }
  }
  return undefined
}
