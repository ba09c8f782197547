import { parseMode } from '../repeaters/modeWanted.js'
import type { Service } from '../service.js'
import { argumentWords } from './argumentWords.js'
import { withBands } from './bandTokens.js'
import { bareArguments } from './bareArguments.js'
import { type Found, findAll, foundAt, oneLetter, phraseAt } from './findMeanings.js'
import { isCallWord } from './kinds.js'
import { inKnownForms } from './knownForms.js'
import { letterMeant } from './letters.js'
import { asked, meaningOf } from './meaningOf.js'
import { namedWithin } from './namedWithin.js'
import { begunWith, mistyped, withinCompound } from './nearWords.js'
import {
  greeted,
  onlyPolite,
  politeWithin,
  politeWords,
  thanked,
  thanksFor,
  toldToStop,
} from './politeness.js'
import { withoutDenied } from './sentences/inNeed.js'
import { namedStation, stationOffered } from './sentences/messageHead.js'
import { withoutRefused } from './sentences/refused.js'
import { callsIn, type Sentence } from './sentences/sentence.js'
import { sentenceMeaning } from './sentences/sentenceMeaning.js'
import { type Token, tokensOf } from './tokens.js'
import { begunTo, messageTo, offerToLeave, ofStation, toSomebody } from './toStations.js'
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
  const all = withoutDenied(findAll(tokens, begin, offered), tokens, offered)
  const begun = firstOf(tokens, begin, offered)
  const isDenied = begun?.words[0] === 'emergency' && !all.some((one) => one.begin === begun.begin)
  const first = isDenied ? undefined : begun
  const sentence = { text, tokens, first, all }
  const wanted = withoutRefused(sentence, offered)
  if (wanted !== undefined) return understand(wanted, offered)
  // '@Q1ABC hello', 'Q1ABC: hello'
  const addressed =
    /^\s*(@|[a-z0-9]{3,6}(-\d{1,2})?\s*:\s*\S)/i.test(text) && isCallWord(tokens[0]!.raw)
  return (
    (addressed && tokens.length > 1 ? offerToLeave(tokens[0]!, offered) : undefined) ??
    begunTo(text, tokens, offered) ??
    thanksFor(tokens, offered) ??
    sentenceMeaning(sentence, offered) ??
    onlyPolite(tokens, all, offered) ??
    toldToStop(tokens, begin, all, offered) ??
    meant(messageTo(first, tokens, offered), 'asked') ??
    namedWithin(sentence, offered) ??
    meant(properOf(first, all, tokens, offered), 'asked') ??
    meant(strongest(withoutClock(all, tokens).filter(({ strong }) => strong)), 'guessed') ??
    meant(letterMeant(tokens, begin, text, offered), 'asked') ??
    beginning(tokens, begin, text, offered) ??
    ofStation(tokens, text, offered) ??
    thanked(tokens, begin, { ...offered, isQuestion: text.includes('?') }) ??
    topicWithin(tokens, all, offered) ??
    ofNamed(sentence, offered) ??
    meant(
      strongest(withoutClock(all, tokens).filter((one) => isTold(one, tokens, offered))),
      'guessed',
    ) ??
    greeted(tokens, begin, offered) ??
    bareArguments(tokens, text, offered) ??
    toSomebody(tokens, begin, text, offered) ??
    begunWith(tokens, begin, text, offered) ??
    absent(tokens, begin, offered) ??
    namedStation(sentence, offered) ??
    mistyped(tokens, text, offered) ??
    withinCompound(tokens, text, offered) ??
    politeWithin(tokens, offered) ??
    meant(strongest(all.filter((one) => isTold(one, tokens, offered) || isHelp(one))), 'guessed') ??
    stationOffered(sentence, offered) ?? {
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

/** The first word that means something; behind other words than politeness, a keyword of people's own texts is a word as any other. */
function firstOf(tokens: readonly Token[], begin: number, offered: Offered): Found | undefined {
  const found = foundAt(tokens, begin, offered)
  if (found?.service.takes !== 'text' || !found.byKeyword) return found
  if (tokens.slice(0, begin).every(({ folded }) => politeWords.has(folded))) return found
  const services = offered.services.filter(({ takes }) => takes !== 'text')
  return foundAt(tokens, begin, { ...offered, services }) ?? found
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
  if (isUrgent && !first.byKeyword && yieldsToNeed.has(service.keyword)) return undefined
  if (isUrgent && (service.keyword === 'help' || (service.keyword === 'where' && !first.byKeyword)))
    return undefined
  // 'Who are you, what do you do': what it can do says who it is.
  if (service.keyword === 'where' && first.words[0] === 'node' && !first.byKeyword) {
    const help = all.find((one) => one.strong && !one.byKeyword && one.service.keyword === 'help')
    if (help !== undefined && help.length > 1) return help
  }
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

/** 'Who won the elections' asks for no stations: a weak word among words that nobody knows means nothing. */
function isTold(one: Found, tokens: readonly Token[], offered: Offered): boolean {
  if (isHelp(one)) return false
  const { service, strong } = one
  const strangeMax = strangeMaxOf[service.keyword]
  if (strong || strangeMax === undefined) return true
  const { words, parts, keywords } = offered.vocabulary
  const strange = tokens.filter(
    ({ raw, folded }, at) =>
      /^[a-z]{3,}$/.test(folded) &&
      parseMode(`${tokens[at - 1]?.raw ?? ''}${raw}`) === undefined &&
      ![words, parts, keywords].some((known) => known.has(folded)) &&
      !offered.services.some(({ recognises }) => recognises?.([raw]) === true),
  )
  return strange.length < strangeMax
}

/** 'Nearest pharmacy' asks for no repeater. */
const strangeMaxOf: Readonly<Record<string, number>> = { heard: 2, repeaters: 1 }

const isHelp = ({ service }: Found): boolean => service.keyword === 'help'

/** What is told to be unknown: the first word that is none of the small ones. */
function strangeWord(tokens: readonly Token[], text: string, { vocabulary }: Offered): string {
  const { ignored, greetings } = vocabulary
  const strange = tokens.find(({ folded }) => !ignored.has(folded) && !greetings.has(folded))
  return strange?.raw ?? text.trim()
}

/** 'Qualcuno è caduto', 'mon ami ne répond plus' ask for nobody heard, and answer nobody. */
const yieldsToNeed: ReadonlySet<string> = new Set(['heard', 'reply', 'signal', 'collect'])

/** 'What time is it dark' asks when that is. */
const withoutClock = (all: readonly Found[], tokens: readonly Token[]): readonly Found[] =>
  all.some(isOfDay)
    ? all.filter(
        ({ service, byKeyword, begin, length }) =>
          service.keyword !== 'clock' ||
          byKeyword ||
          !tokens.slice(begin, begin + length).some(({ folded }) => hourWord.test(folded)),
      )
    : all

const hourWord = /^(time|heures?|horas?|ora|ore|uhr|spat|zeit)$/

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

/** 'When did you last hear Q2DEF', 'how long to walk to Oberwald': of what is named, where all other words are weak. */
function ofNamed(sentence: Sentence, offered: Offered): Understanding | undefined {
  const { tokens, all } = sentence
  const named = (wanted: string) => offered.services.find(({ keyword }) => keyword === wanted)
  const isWeakly = (keyword: string): boolean =>
    all.length > 0 && all.every((one) => !one.strong && one.service.keyword === keyword)
  const calls = callsIn(sentence, offered)
  const heard = named('heard')
  if (calls.length === 1 && isWeakly('signal') && heard !== undefined) {
    const { raw } = tokens[calls[0]!]!
    return { ...asked(heard, [raw], raw), manner: 'guessed' }
  }
  const where = named('where')
  const place = tokens.find(({ raw }) => where?.recognises?.([raw]) === true)
  return where !== undefined && place !== undefined && isWeakly('help')
    ? { ...asked(where, [place.raw], place.raw), manner: 'guessed' }
    : undefined
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
  if (!tokens.slice(0, begin).every((one) => politeWords.has(one.folded))) return undefined
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

function absent(
  tokens: readonly Token[],
  begin: number,
  { vocabulary }: Offered,
): Understanding | undefined {
  const meaning = vocabulary.meanings.get(tokens[begin]?.folded ?? '')
  return meaning?.strong ? { kind: 'absent', keyword: meaning.keyword } : undefined
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
