/** A text that somebody sent, taken apart. */
export interface ParsedQuestion {
  /** lower case; '' for an empty text */
  readonly keyword: string
  readonly words: readonly string[]
  /** text after the keyword, spaces within kept */
  readonly rest: string
}

/**
 * First word and the rest. Punctuation around the first word is dropped, and a number that was keyed
 * without a blank counts as a word of its own, as people type on a radio's keys: 'Repeaters2?' is 'repeaters 2'.
 */
export function parseQuestion(text: string): ParsedQuestion {
  const trimmed = text.trim()
  const first = trimmed.split(/\s+/, 1)[0] ?? ''
  let rest = trimmed.slice(first.length).trim()
  let keyword = withoutPunctuation(first.toLowerCase())
  const keyed = /^([a-z]+)(\d.*)$/.exec(keyword)
  if (keyed) {
    keyword = keyed[1]!
    rest = `${keyed[2]!} ${rest}`.trim()
  }
  return { keyword, rest, words: rest === '' ? [] : rest.split(/\s+/) }
}

/** From the first letter or figure to the last. */
function withoutPunctuation(word: string): string {
  const begin = word.search(/[a-z0-9]/)
  let end = word.length
  while (end > begin && !/[a-z0-9]/.test(word[end - 1]!)) end--
  return begin === -1 ? '' : word.slice(begin, end)
}

export type KeywordMatch<T> =
  | { readonly ok: true; readonly match: T }
  /** `candidates` begin with what was sent; none of them when nothing does */
  | { readonly ok: false; readonly candidates: readonly T[] }

/** Finds the entry whose keyword is `word`, or the only one that begins with it, in any case. */
export function matchKeyword<T extends { readonly keyword: string }>(
  word: string,
  entries: readonly T[],
): KeywordMatch<T> {
  const wanted = word.toLowerCase()
  if (wanted === '') return { ok: false, candidates: [] }
  const exact = entries.find((entry) => entry.keyword === wanted)
  if (exact) return { ok: true, match: exact }
  const candidates = entries.filter((entry) => entry.keyword.startsWith(wanted))
  if (candidates.length === 1) return { ok: true, match: candidates[0]! }
  return { ok: false, candidates }
}
