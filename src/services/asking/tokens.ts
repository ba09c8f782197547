import { fold } from './fold.js'

/** One word of a text. */
export interface Token {
  /** as it was sent, without the punctuation around it */
  readonly raw: string
  readonly folded: string
  /** where it ends in the text */
  readonly end: number
}

/** Some characters more than a message can have. */
const lookedAtMax = 400

/** Signs that separate words; a comma or colon between figures belongs to a number or a time. */
const separators = /[;!?"()[\]<>„“”«»¿¡=|{}]|(?<!\d)[,:]|[,:](?!\d)/

const edges = /^[.'’`´*_~^#$%&@/\\-]+|[.'’`´*_~^#$%&@/\\+-]+$/g

/**
 * The words of a text, without what people put around them: 'Météo, s.v.p.!' is 'meteo', 'svp'. Call signs, numbers, times and
 * dates stay whole; words joined by a hyphen or a slash come apart.
 */
export function tokensOf(text: string): readonly Token[] {
  const tokens: Token[] = []
  for (const chunk of text.slice(0, lookedAtMax).matchAll(/\S+/g)) {
    let at = chunk.index
    for (const part of chunk[0].split(separators)) {
      const begin = text.indexOf(part, at)
      at = begin + part.length
      for (const word of wordsOf(part)) {
        const folded = fold(word).replace(/['’`´]/g, '')
        if (folded !== '') tokens.push({ raw: word, folded, end: at })
      }
    }
  }
  return tokens
}

function wordsOf(part: string): readonly string[] {
  const sign = /^[-+]\d/.test(part) ? part[0]! : ''
  const bare = sign + part.slice(sign.length).replace(edges, '')
  if (/^(\p{L}\.)+\p{L}?$/u.test(bare)) return [bare.replaceAll('.', '')]
  if (/\d/.test(bare)) return bare === '' ? [] : [bare]
  if (/^d-star$/i.test(bare)) return [bare]
  // l'heure, s'il, qu'un: an article, not a part of the word; what's and dov'è are one word.
  return bare
    .split(/[-/_.]|(?<=^(?:\p{L}|qu|un|dell|all|nell|sull|dall))['’`´](?=\p{L})/u)
    .filter((word) => /[\p{L}\p{N}]/u.test(word))
}

const articles: ReadonlySet<string> = new Set([
  ...[
    'the',
    'a',
    'an',
    'my',
    'some',
    'any',
    'der',
    'die',
    'das',
    'den',
    'dem',
    'des',
    'ein',
    'eine',
    'einen',
  ],
  ...[
    'einem',
    'einer',
    'le',
    'la',
    'les',
    'un',
    'une',
    'mon',
    'ma',
    'mes',
    'el',
    'los',
    'las',
    'una',
    'unos',
    'unas',
  ],
  ...['mi', 'mis', 'il', 'lo', 'gli', 'uno'],
])

/** A phrase without the articles within it, which people leave out or put in: 'send a message' is 'send message'. */
export function withoutArticles(phrase: string): string {
  const words = phrase.split(' ')
  return words
    .filter((word, at) => at === 0 || at === words.length - 1 || !articles.has(word))
    .join(' ')
}

/** The phrases of the first, the first two, ... of these words, each as `withoutArticles` gives it. */
export function phrasesWithoutArticles(words: readonly string[]): readonly string[] {
  let kept = words[0] ?? ''
  return words.map((word, at) => {
    if (at === 0) return word
    const phrase = `${kept} ${word}`
    if (!articles.has(word)) kept = phrase
    return phrase
  })
}
