import type { Card } from './card.js'

/** Cards that can be searched by words. */
export interface CardIndex {
  readonly cards: readonly Card[]
  /** Cards that have every word of the topic (else those that have any), best first. */
  search(topic: string): readonly Card[]
  /** whether words that nobody said to be a topic are one: one of a title or keyword, else two and two thirds of them in one text */
  recognises(topic: string): boolean
}

/** A word in the title weighs most, then one of the keywords, then one of the text. */
const titleWeight = 16
const keywordWeight = 8
const textWeight = 1
/** A word that only begins like the one asked for, or the other way round, counts less than the word itself. */
const beginningShare = 0.5

/** Builds the index: for each word, the cards that have it and how much it weighs there. */
export function cardIndex(cards: readonly Card[]): CardIndex {
  const weights = new Map<string, Map<number, number>>()
  const add = (word: string, at: number, weight: number): void => {
    const ofWord = weights.get(word) ?? new Map<number, number>()
    weights.set(word, ofWord)
    ofWord.set(at, Math.max(ofWord.get(at) ?? 0, weight))
  }
  for (const [at, card] of cards.entries()) {
    for (const word of wordsOf(card.text)) add(word, at, textWeight)
    for (const word of card.keywords.flatMap(wordsOf)) add(word, at, keywordWeight)
    for (const word of wordsOf(card.title)) add(word, at, titleWeight)
  }
  const weightsOf = (wanted: string): Map<number, number> => {
    const sum = new Map(weights.get(wanted) ?? [])
    if (wanted.length < 3) return sum
    for (const [word, ofWord] of weights) {
      if (word === wanted || !(word.startsWith(wanted) || isLonger(wanted, word))) continue
      for (const [at, weight] of ofWord)
        sum.set(at, Math.max(sum.get(at) ?? 0, weight * beginningShare))
    }
    return sum
  }
  return {
    cards,
    recognises(topic) {
      const wanted = wordsOf(topic).filter((word) => word.length >= 3)
      const inText = new Map<number, number>()
      for (const word of wanted)
        for (const [at, weight] of weights.get(word) ?? []) {
          if (weight > textWeight) return true
          inText.set(at, (inText.get(at) ?? 0) + 1)
        }
      const most = Math.max(0, ...inText.values())
      return most >= 2 && most * 3 >= 2 * wanted.length
    },
    search(topic) {
      const wanted = [...new Set(wordsOf(topic))].slice(0, 12)
      const scores = new Map<number, { words: number; weight: number }>()
      for (const word of wanted) {
        for (const [at, weight] of weightsOf(word)) {
          const score = scores.get(at) ?? { words: 0, weight: 0 }
          scores.set(at, { words: score.words + 1, weight: score.weight + weight })
        }
      }
      return [...scores]
        .sort(([a, x], [b, y]) => y.words - x.words || y.weight - x.weight || a - b)
        .map(([at]) => cards[at]!)
    },
  }
}

/** 'buses' or 'towed' asked for where the card says 'bus' or 'tow'. */
const isLonger = (wanted: string, word: string): boolean =>
  word.length >= 3 && wanted.startsWith(word) && wanted.length <= word.length + 2

/** Letters and digits in lower case without marks; a final s is dropped. */
function wordsOf(text: string): string[] {
  const folded = text.normalize('NFKD').replace(/\p{M}/gu, '').toLowerCase()
  return (folded.match(/[\p{L}\p{N}]+/gu) ?? []).map((word) =>
    word.length > 3 ? word.replace(/(?<=[^s])s$/, '') : word,
  )
}
