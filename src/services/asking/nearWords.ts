import type { Service } from '../service.js'
import { lettersWrong, wrongLettersMax } from './distance.js'
import { meaningOf } from './meaningOf.js'
import type { Token } from './tokens.js'
import type { Offered, Understanding } from './understanding.js'

export function begunWith(
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

/** The service whose words are nearest to a word that is none of them; several are offered. */
export function mistyped(
  tokens: readonly Token[],
  text: string,
  offered: Offered,
): Understanding | undefined {
  const { services, vocabulary } = offered
  const byKeyword = new Map(services.map((service) => [service.keyword, service]))
  let least = Number.POSITIVE_INFINITY
  let near = new Map<Service | 'greeting', number>()
  const consider = (word: string, of: Service | 'greeting' | undefined, at: number): void => {
    if (of === undefined) return
    const { folded } = tokens[at]!
    const limit = Math.min(wrongLettersMax(folded), wrongLettersMax(word), least)
    if (limit === 0) return
    const wrong = lettersWrong(folded, word, limit)
    if (wrong > limit) return
    if (wrong < least) near = new Map()
    least = wrong
    if (!near.has(of)) near.set(of, at)
  }
  for (const [at, { folded }] of tokens.entries()) {
    if (!/^[a-z]{4,}$/.test(folded) || vocabulary.ignored.has(folded)) continue
    // A word that some list has is none that somebody mistyped.
    if (vocabulary.words.has(folded)) continue
    for (const service of services) consider(service.keyword, service, at)
    for (const [phrase, { keyword, strong }] of vocabulary.meanings)
      if (strong && !phrase.includes(' ')) consider(phrase, byKeyword.get(keyword), at)
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

/** 'Relaisfrequenz', 'Windrichtung', 'Testnachricht': what a long word begins with, where a list has that. */
export function withinCompound(
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
