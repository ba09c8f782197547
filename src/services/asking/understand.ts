import { parseBand } from '../repeaters/bands.js'
import { parseMode } from '../repeaters/modeWanted.js'
import type { Service } from '../service.js'
import { argumentWords } from './argumentWords.js'
import { withBands } from './bandTokens.js'
import { bareArguments } from './bareArguments.js'
import { lettersWrong, wrongLettersMax } from './distance.js'
import { type Found, findAll, foundAt, oneLetter, phraseAt } from './findMeanings.js'
import { isCallWord } from './kinds.js'
import { inKnownForms } from './knownForms.js'
import { namedWithin } from './namedWithin.js'
import { greeted, onlyPolite, politeWithin, thanked, thanksFor, toldToStop } from './politeness.js'
import { type Token, tokensOf } from './tokens.js'
import type { Offered, Understanding } from './understanding.js'

/** These are meant by their word only if nothing else is: 'where is the next repeater' asks for a repeater. */
const yielding: ReadonlySet<string> = new Set([
  ...['where', 'find', 'leave', 'help', 'post', 'clock'],
])

/** Finds out what a text asks for, in any of the vocabulary's languages. Pure: the same text means the same, whoever sends it. */
export function understand(text: string, offered: Offered): Understanding {
  const sent = tokensOf(text)
  if (offered.only && offered.services[0] !== undefined)
    return toTheOnly(text, sent, offered.services[0], offered)
  // What a club's own service takes is its own affair.
  const tokens = beginsWithOwn(sent, offered)
    ? sent
    : inKnownForms(withBands(sent, offered.vocabulary), offered.vocabulary)
  const help = offered.services.find(({ keyword }) => keyword === 'help')
  if (tokens.length === 0)
    return help ? asked(help, [], '') : { kind: 'nothing', word: text.trim() }
  const meant = (one: Found | undefined, manner: 'asked' | 'guessed'): Understanding | undefined =>
    one && meaningOf(one, text, one.tokens ?? tokens, offered, manner)
  const begin = beginOf(tokens, offered)
  const first = firstOf(tokens, begin, offered)
  const all = findAll(tokens, begin, offered)
  // '@Q1ABC hello', 'Q1ABC: hello'
  const addressed =
    /^\s*(@|[a-z0-9]{3,6}(-\d{1,2})?\s*:\s*\S)/i.test(text) && isCallWord(tokens[0]!.raw)
  return (
    (addressed && tokens.length > 1 ? offerToLeave(tokens[0]!, offered) : undefined) ??
    thanksFor(tokens, offered) ??
    onlyPolite(tokens, all, offered) ??
    toldToStop(tokens, begin, offered) ??
    meant(messageTo(first, tokens, offered), 'asked') ??
    namedWithin({ tokens, first, all }, offered) ??
    meant(properOf(first, all, tokens, offered), 'asked') ??
    meant(strongest(all.filter(({ strong }) => strong)), 'guessed') ??
    meant(letterMeant(tokens, begin, text, offered), 'asked') ??
    beginning(tokens, begin, text, offered) ??
    ofStation(tokens, text, offered) ??
    thanked(tokens, begin, { ...offered, isQuestion: text.includes('?') }) ??
    topicWithin(tokens, all, offered) ??
    meant(strongest(all.filter(({ service }) => service.keyword !== 'help')), 'guessed') ??
    greeted(tokens, begin, offered) ??
    bareArguments(tokens, text, offered) ??
    toSomebody(tokens, begin, text, offered) ??
    begunWith(tokens, begin, text, offered) ??
    absent(tokens, begin, offered) ??
    mistyped(tokens, text, offered) ??
    withinCompound(tokens, text, offered) ??
    politeWithin(tokens, offered) ??
    meant(strongest(all), 'guessed') ?? {
      kind: 'nothing',
      word: strangeWord(tokens, text, offered),
    }
  )
}

const beginsWithOwn = ([token]: readonly Token[], { services, vocabulary }: Offered): boolean =>
  services.some(
    ({ keyword, synonyms }) =>
      !vocabulary.keywords.has(keyword) &&
      (keyword === token?.folded || synonyms?.includes(token?.folded ?? '') === true),
  )

const asked = (service: Service, words: readonly string[], rest: string) =>
  ({ kind: 'service', service, words, rest, manner: 'asked' }) as const

function meaningOf(
  found: Found,
  text: string,
  tokens: readonly Token[],
  offered: Offered,
  manner: 'asked' | 'guessed',
): Understanding {
  const { service, begin, length } = found
  if (service.takes === 'text') {
    const rest = isHardlyText(found, tokens, offered)
      ? ''
      : restAfter(text, tokens, { at: begin + length, service }, offered)
    const words = rest === '' ? [] : rest.split(/\s+/)
    // 'find emergency' may be meant by a word alone.
    if (found.words.length === 0) {
      const named = found.byKeyword ? service.instead?.(rest) : undefined
      const meant = offered.services.find(({ keyword }) => keyword === named) ?? service
      return { kind: 'service', service: meant, words, rest, manner }
    }
    return { kind: 'service', service, words: found.words, rest: found.words.join(' '), manner }
  }
  const second = secondOf(found, tokens, offered)
  const asked =
    second === undefined
      ? tokens
      : tokens.filter((_, at) => at < second.begin || at >= second.begin + second.length)
  const others = argumentWords(asked, { begin, length }, service.keyword, offered.vocabulary)
  const words = [...found.words, ...others.filter((word) => !found.words.includes(word))]
  const end = tokens[begin + length - 1]?.end ?? 0
  const rest = text.slice(end).trim()
  const meaning = { kind: 'service', service, words, rest, manner } as const
  return second === undefined ? meaning : { ...meaning, other: second.service }
}

/** 'Weather and sunset': what is asked for besides, behind what is answered. */
function secondOf(
  { service, begin, length }: Found,
  tokens: readonly Token[],
  offered: Offered,
): Found | undefined {
  return findAll(tokens, 0, offered).find(
    (one) =>
      one.strong &&
      one.service !== service &&
      one.tokens === undefined &&
      one.begin >= begin + length &&
      askedTogether.has(one.service.keyword) &&
      !offered.vocabulary.arguments.has(tokens[one.begin]!.folded),
  )
}

const askedTogether: ReadonlySet<string> = new Set(['repeaters', 'conditions', 'pass', 'sun'])

/** 'Post da?' asks for letters, as a German would; 'post hello' posts. */
const isHardlyText = (
  { service, begin, length, byKeyword }: Found,
  tokens: readonly Token[],
  { vocabulary }: Offered,
): boolean =>
  byKeyword &&
  service.keyword === 'post' &&
  tokens
    .slice(begin + length)
    .every(
      ({ folded }) =>
        (vocabulary.ignored.has(folded) && !vocabulary.greetings.has(folded)) ||
        vocabulary.meanings.get(folded)?.keyword === 'collect',
    )

/** A person's text as sent; what stands between the service's name and a call sign is left out: 'leave a message for N0CALL …'. */
function restAfter(
  text: string,
  tokens: readonly Token[],
  { at: after, service }: { readonly at: number; readonly service: Service },
  { vocabulary }: Offered,
): string {
  let at = after
  // What a club's own service takes is its own affair.
  while (
    service.keyword === 'leave' &&
    at < tokens.length &&
    (vocabulary.ignored.has(tokens[at]!.folded) || vocabulary.meanings.has(tokens[at]!.folded))
  )
    at++
  const from = tokens[at] && service.keyword === 'leave' && isCallWord(tokens[at]!.raw) ? at : after
  const end = from === 0 ? 0 : tokens[from - 1]!.end
  return text
    .slice(end)
    .replace(/^[\s,:;.!?"')\]-]+/, '')
    .trim()
}

/** Where the politeness in front ends: the first word that means something, or is not known. */
function beginOf(tokens: readonly Token[], offered: Offered): number {
  const { ignored, greetings, phraseMax } = offered.vocabulary
  let at = 0
  while (at < tokens.length) {
    const found = foundAt(tokens, at, offered)
    if (found !== undefined) return at
    const polite = phraseAt(
      tokens,
      at,
      phraseMax,
      (phrase) => ignored.has(phrase) || greetings.has(phrase),
    )
    if (polite === 0) return at
    at += polite
  }
  return 0
}

const polite: ReadonlySet<string> = new Set([
  ...[
    'please',
    'pls',
    'plz',
    'bitte',
    'svp',
    'stp',
    'por',
    'favor',
    'per',
    'favore',
    'hello',
    'hi',
  ],
])

/** The first word that means something; behind other words than politeness, a keyword of people's own texts is a word as any other. */
function firstOf(tokens: readonly Token[], begin: number, offered: Offered): Found | undefined {
  const found = foundAt(tokens, begin, offered)
  if (found?.service.takes !== 'text' || !found.byKeyword) return found
  if (tokens.slice(0, begin).every(({ folded }) => polite.has(folded))) return found
  const services = offered.services.filter(({ takes }) => takes !== 'text')
  return foundAt(tokens, begin, { ...offered, services }) ?? found
}

/** 'Message N0CALL-7 late' leaves one, where 'message' alone asks for those that wait. */
function messageTo(
  first: Found | undefined,
  tokens: readonly Token[],
  { services }: Offered,
): Found | undefined {
  if (first === undefined || first.byKeyword || first.service.keyword !== 'collect')
    return undefined
  const to = first.begin + first.length
  const leave = services.find(({ keyword }) => keyword === 'leave')
  if (leave === undefined || tokens.length < to + 2 || !isCallWord(tokens[to]!.raw))
    return undefined
  return { ...first, service: leave, words: [] }
}

/** What the text begins with, unless that word yields to a stronger one in the text. */
function properOf(
  first: Found | undefined,
  all: readonly Found[],
  tokens: readonly Token[],
  offered: Offered,
): Found | undefined {
  if (first === undefined || !first.strong) return undefined
  const { service } = first
  // Whoever is hurt and asks for help wants no list, and who asks where the doctor is no place of that name.
  const isUrgent = all.some(({ words }) => words[0] === 'emergency')
  if (isUrgent && (service.keyword === 'help' || (service.keyword === 'where' && !first.byKeyword)))
    return undefined
  if (!yielding.has(service.keyword)) return first
  const ofText = tokens.slice(first.begin + first.length)
  const hasCall = ofText.some(({ raw }) => isCallWord(raw))
  if (first.byKeyword && !['where', 'find'].includes(service.keyword)) return first
  if (service.keyword === 'clock' && !first.byKeyword && all.some(isOfDay)) return undefined
  if (hasCall || first.words.length > 0) return first
  if (service.recognises?.(ofText.map(({ raw }) => raw)) === true) return first
  const other = all.some(
    (one) => one.strong && one.service !== service && !yielding.has(one.service.keyword),
  )
  if (other) return undefined
  // 'tell', 'send to' and so on mean a message only with somebody to whom it goes.
  return service.keyword === 'leave' && !offered.only && all.length > 1 ? undefined : first
}

const toWords: ReadonlySet<string> = new Set([
  ...['to', 'for', '4', 'an', 'fur', 'fuer', 'a', 'pour', 'para', 'per'],
])

/** 'To Q1ABC: running late' is for Q1ABC, and not for us: how a message is left is offered; 'did Q1ABC make it' asks for that station. */
function toSomebody(
  tokens: readonly Token[],
  begin: number,
  text: string,
  offered: Offered,
): Understanding | undefined {
  const token = tokens[begin]
  if (token === undefined || !isCallWord(token.raw) || tokens.length < begin + 2) return undefined
  const { raw } = token
  const { greetings, sending } = offered.vocabulary
  const before = tokens[begin - 1]?.folded
  const isTo =
    before === undefined ||
    [toWords, polite, greetings].some((words) => words.has(before)) ||
    tokens.some(({ folded }) => sending.has(folded)) ||
    text.includes(`${raw}:`)
  if (!isTo) return heardOf(raw, offered)
  return tokens.length < begin + 3 ? undefined : offerToLeave(token, offered)
}

function heardOf(call: string, { services }: Offered): Understanding | undefined {
  const service = services.find(({ keyword }) => keyword === 'heard')
  return service && { ...asked(service, [call], call), manner: 'guessed' }
}

/** 'Q1ABC meet me at the hut', 'send Q1ABC a message': for somebody else; 'Q1ABC still on?' asks for that station. */
function ofStation(
  tokens: readonly Token[],
  text: string,
  offered: Offered,
): Understanding | undefined {
  const { ignored, greetings, thanks, arguments: known, putting, sending } = offered.vocabulary
  const isVerb = [putting, sending].some((words) => words.has(tokens[0]!.folded))
  const at = isVerb ? 1 : 0
  if (tokens[at] === undefined || !isCallWord(tokens[at].raw)) return undefined
  const others = tokens.slice(at + 1)
  const isSmall = ({ folded }: Token): boolean =>
    [ignored, greetings, thanks, known].some((words) => words.has(folded))
  if (others.length === 0 || (others.every(isSmall) && !isVerb)) return undefined
  if (!text.includes('?'))
    return others.length < 2 && !isVerb ? undefined : offerToLeave(tokens[at], offered)
  return heardOf(tokens[at].raw, offered)
}

/** A letter by itself or with arguments; in 'r u there' and 'c'est' it is none. */
function letterMeant(
  tokens: readonly Token[],
  begin: number,
  text: string,
  offered: Offered,
): Found | undefined {
  const found = /(^|[\s,.;])[a-z]['’`´]/i.test(text) ? undefined : oneLetter(tokens, begin, offered)
  if (found === undefined) return undefined
  const { ignored, arguments: known, months } = offered.vocabulary
  const others = tokens.slice(found.begin + 1)
  const isTelling = ({ raw, folded }: Token): boolean =>
    /\d/.test(raw) ||
    months.has(folded) ||
    (known.has(folded) && !['me', 'node'].includes(known.get(folded)!)) ||
    parseMode(raw) !== undefined ||
    parseBand(raw) !== undefined ||
    offered.services.some((service) => service.recognises?.([raw]) === true)
  const isPolite = ({ folded }: Token): boolean => polite.has(folded)
  const isMeant =
    others.every((one) => isTelling(one) || isPolite(one)) ||
    (others.some(isTelling) &&
      !['me', 'node'].includes(known.get(others[0]!.folded) ?? '') &&
      others.every((one) => isTelling(one) || ignored.has(one.folded)))
  return isMeant ? found : undefined
}

/** 'Relaisfrequenz', 'Windrichtung', 'Testnachricht': what a long word begins with, where a list has that. */
function withinCompound(
  tokens: readonly Token[],
  text: string,
  offered: Offered,
): Understanding | undefined {
  const { vocabulary, services } = offered
  for (const [begin, { folded }] of tokens.entries()) {
    if (!/^[a-z]{8,}$/.test(folded) || vocabulary.words.has(folded)) continue
    for (let length = folded.length - 3; length >= 4; length--) {
      const part = folded.slice(0, length)
      if (vocabulary.greetings.has(part)) return { kind: 'greeting', sort: 'hello' }
      const meaning = vocabulary.meanings.get(part)
      const service = services.find(({ keyword }) => keyword === meaning?.keyword)
      if (!meaning?.strong || service === undefined || service.takes === 'text') continue
      return meaningOf(
        { service, begin, length: 1, words: meaning.words, strong: true, byKeyword: false },
        ...([text, tokens, offered, 'guessed'] as const),
      )
    }
  }
  return undefined
}

/** What is told to be unknown: the first word that is none of the small ones. */
function strangeWord(tokens: readonly Token[], text: string, { vocabulary }: Offered): string {
  const { ignored, greetings } = vocabulary
  const strange = tokens.find(({ folded }) => !ignored.has(folded) && !greetings.has(folded))
  return strange?.raw ?? text.trim()
}

function offerToLeave({ raw }: Token, { services }: Offered): Understanding | undefined {
  const leave = services.find(({ keyword }) => keyword === 'leave')
  return leave && { kind: 'offer', word: raw, services: [leave] }
}

/** 'What time does it get light' asks for no clock. */
const isOfDay = ({ service }: Found): boolean => ['sun', 'pass'].includes(service.keyword)

/** The service that most of the words mean; of several, the one named first. */
function strongest(all: readonly Found[]): Found | undefined {
  const urgent = all.find(({ words }) => words[0] === 'emergency')
  if (urgent !== undefined) return urgent
  const firm = all.filter(({ service }) => !yielding.has(service.keyword))
  const pool = firm.length > 0 ? firm : all
  const weightOf = (one: Found): number =>
    pool
      .filter(({ service }) => service === one.service)
      .reduce((sum, { length, strong }) => sum + (strong ? 10 : 1) * length, 0)
  let best: Found | undefined
  for (const one of pool) if (best === undefined || weightOf(one) > weightOf(best)) best = one
  if (best === undefined) return undefined
  // Arguments may come with another of the words: 'sat iss' is the satellite ISS.
  const told = pool.find(({ service, words }) => service === best.service && words.length > 0)
  return told ?? best
}

/** 'Water near Oberwald', 'time of the last bus': a topic of the cards means more than a word that is weak by itself. */
function topicWithin(
  tokens: readonly Token[],
  all: readonly Found[],
  { services, vocabulary }: Offered,
): Understanding | undefined {
  if (all.length === 0) return undefined
  const find = services.find(({ keyword }) => keyword === 'find')
  const isNamed = (at: number): boolean =>
    all.some(({ begin, length }) => at >= begin && at < begin + length)
  const words = tokens
    .filter(({ folded }, at) => !isNamed(at) && !vocabulary.ignored.has(folded))
    .map(({ raw }) => raw)
  if (find?.recognises?.(words) !== true) return undefined
  return { kind: 'service', service: find, words, rest: words.join(' '), manner: 'guessed' }
}

/** The clear beginning of a keyword, at the beginning of the text. */
function beginning(
  tokens: readonly Token[],
  begin: number,
  text: string,
  offered: Offered,
): Understanding | undefined {
  const { services, vocabulary } = offered
  const token = tokens[begin]
  if (token === undefined || token.folded.length < 2) return undefined
  const { folded } = token
  // 'Any sign of N0CALL' is no `signal`.
  if (!tokens.slice(0, begin).every((one) => polite.has(one.folded))) return undefined
  if (vocabulary.greetings.has(folded) || vocabulary.thanks.has(folded)) return undefined
  if (vocabulary.ignored.has(folded) && tokens.length > 1) return undefined
  const next = tokens[begin + 1]?.raw
  const isName = services.some(
    ({ recognises }) =>
      recognises?.([token.raw]) === true ||
      (next !== undefined && recognises?.([token.raw, next]) === true),
  )
  if (isName) return undefined
  const found = services.filter(({ keyword }) => keyword.startsWith(folded))
  if (found.length > 1) return { kind: 'offer', word: folded, services: found }
  const [service] = found
  if (service === undefined) return undefined
  return meaningOf(
    { service, begin, length: 1, words: [], strong: true, byKeyword: true },
    ...([text, tokens, offered, 'asked'] as const),
  )
}

function begunWith(
  tokens: readonly Token[],
  begin: number,
  text: string,
  offered: Offered,
): Understanding | undefined {
  const service = longBeginning(tokens[begin]?.folded ?? '', offered)
  if (service === undefined) return undefined
  const found = { service, begin, length: 1, words: [], strong: true, byKeyword: false }
  return service.takes === 'text' ? undefined : meaningOf(found, text, tokens, offered, 'guessed')
}

/** Four letters of a synonym will do where they mean one service only. */
function longBeginning(folded: string, { services, vocabulary }: Offered): Service | undefined {
  if (folded.length < 4 || vocabulary.parts.has(folded)) return undefined
  const meant = new Set<string>()
  for (const [phrase, { keyword, strong }] of vocabulary.meanings)
    if (strong && !phrase.includes(' ') && phrase.startsWith(folded)) meant.add(keyword)
  const [only] = meant
  return meant.size === 1 ? services.find(({ keyword }) => keyword === only) : undefined
}

function absent(
  tokens: readonly Token[],
  begin: number,
  { vocabulary }: Offered,
): Understanding | undefined {
  const meaning = vocabulary.meanings.get(tokens[begin]?.folded ?? '')
  return meaning?.strong ? { kind: 'absent', keyword: meaning.keyword } : undefined
}

/** The service whose words are nearest to a word that is none of them; several are offered. */
function mistyped(
  tokens: readonly Token[],
  text: string,
  offered: Offered,
): Understanding | undefined {
  const { services, vocabulary } = offered
  let least = Number.POSITIVE_INFINITY
  let near = new Map<Service | 'greeting', number>()
  const consider = (word: string, of: Service | 'greeting' | undefined, at: number): void => {
    if (of === undefined) return
    const { folded } = tokens[at]!
    const limit = Math.min(wrongLettersMax(folded), wrongLettersMax(word), least)
    const wrong = lettersWrong(folded, word, limit)
    if (limit === 0 || wrong > limit) return
    if (wrong < least) near = new Map()
    least = wrong
    if (!near.has(of)) near.set(of, at)
  }
  for (const [at, { folded }] of tokens.entries()) {
    if (!/^[a-z]{4,}$/.test(folded) || vocabulary.ignored.has(folded)) continue
    for (const service of services) consider(service.keyword, service, at)
    for (const [phrase, { keyword, strong }] of vocabulary.meanings)
      if (strong && !phrase.includes(' '))
        consider(
          phrase,
          services.find((service) => service.keyword === keyword),
          at,
        )
    for (const phrase of vocabulary.greetings) consider(phrase, 'greeting', at)
  }
  const found = [...near.keys()].filter((one): one is Service => one !== 'greeting')
  if (found.length === 0) return near.size > 0 ? { kind: 'greeting', sort: 'hello' } : undefined
  const [service] = found
  const begin = near.get(service!)!
  // Nothing is kept for others by a guess; and a short word in a sentence may well be right as it is.
  const isDoubtful =
    tokens[begin]!.folded.length < 6 &&
    tokens.filter(({ folded }) => !vocabulary.ignored.has(folded)).length > 2
  if (found.length > 1 || service!.takes === 'text' || isDoubtful)
    return { kind: 'offer', word: tokens[begin]!.raw, services: found }
  return meaningOf(
    { service: service!, begin, length: 1, words: [], strong: true, byKeyword: false },
    ...([text, tokens, offered, 'guessed'] as const),
  )
}

/** Its keyword need not be said; a letter that stands for it is dropped before a number. */
function toTheOnly(
  text: string,
  tokens: readonly Token[],
  service: Service,
  offered: Offered,
): Understanding {
  const begin = beginOf(tokens, offered)
  const first = foundAt(tokens, begin, offered)
  const isHelp = (token: Token): boolean =>
    token.folded === 'help' || offered.vocabulary.meanings.get(token.folded)?.keyword === 'help'
  if (tokens.length === 1 && isHelp(tokens[0]!) && first === undefined)
    return { kind: 'usage', service }
  if (first !== undefined && (service.takes !== 'text' || first.byKeyword))
    return meaningOf(first, text, first.tokens ?? tokens, offered, 'asked')
  if (service.takes === 'text') {
    const rest = text.trim()
    return asked(service, rest === '' ? [] : rest.split(/\s+/), rest)
  }
  const letter = oneLetter(tokens, begin, offered)
  if (letter !== undefined)
    return meaningOf(letter, text, letter.tokens ?? tokens, offered, 'asked')
  const whole = beginning(tokens, begin, text, offered)
  if (whole?.kind === 'service') return whole
  const counted = tokens.filter(
    ({ folded }, at) => !(/^[a-z]$/.test(folded) && /^\d/.test(tokens[at + 1]?.folded ?? '')),
  )
  const none = { begin: counted.length, length: 0 }
  const words = argumentWords(counted, none, service.keyword, offered.vocabulary)
  return asked(service, words, text.trim())
}
