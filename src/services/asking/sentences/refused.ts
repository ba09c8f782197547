import type { Found } from '../findMeanings.js'
import type { Offered } from '../understanding.js'
import { callsIn, isByKeyword, isSmall, type Run, runsOf, type Sentence } from './sentence.js'

/**
 * 'No not the weather, the repeaters', 'el tiempo no, los repetidores': a text says what it wants, and what not.
 * @returns the text without what is not wanted; undefined where nothing is refused, or nothing else is wanted
 */
export function withoutRefused(sentence: Sentence, offered: Offered): string | undefined {
  const { text, tokens, all } = sentence
  // 'Is there no weather or repeaters' asks for both.
  if (text.includes('?')) return undefined
  if (isByKeyword(sentence) || callsIn(sentence, offered).length > 0) return undefined
  const firm = all.filter(({ strong }) => strong)
  if (firm.some(({ service, words }) => service.takes === 'text' || words[0] === 'emergency'))
    return undefined
  const nots = [...runsOf('not', sentence, offered), ...runsOf('unwanted', sentence, offered)]
  const isBegun = (at: number): boolean =>
    tokens
      .slice(0, at)
      .every((token) => isSmall(token, offered) || offered.vocabulary.thanks.has(token.folded))
  for (const one of firm) {
    const span = refusal(one, nots, sentence, offered)
    if (span === undefined) continue
    const end = span.at + span.length
    const isSaid = firm.some(
      ({ service, begin }) =>
        service !== one.service &&
        (begin >= end ? isBegun(span.at) || hasBorder(sentence, end, begin) : begin < span.at),
    )
    if (!isSaid) continue
    const before = span.at === 0 ? '' : text.slice(0, tokens[span.at - 1]!.end)
    return `${before} ${text.slice(tokens[end - 1]!.end).replace(/^[\s,;.:-]+/, '')}`.trim()
  }
  return undefined
}

/** From the first 'no' to what is refused, or from that to the 'no' at the end of its clause. */
function refusal(
  { begin, length }: Found,
  nots: readonly Run[],
  sentence: Sentence,
  offered: Offered,
): Run | undefined {
  const { tokens } = sentence
  const isBetween = (from: number, to: number): boolean =>
    from <= to && tokens.slice(from, to).every((token) => isSmall(token, offered))
  const end = begin + length
  const behind = nots.find(({ at }) => at >= end && isBetween(end, at))
  const isBehind =
    behind !== undefined && endsClause(sentence, behind.at + behind.length - 1) ? behind : undefined
  const before = nots
    .filter((one) => isBetween(one.at + one.length, begin))
    .sort((one, other) => one.at - other.at)
  // 'No not the weather'
  let at = before.at(-1)?.at
  for (const one of before.toReversed())
    if (at !== undefined && isBetween(one.at + one.length, at)) at = one.at
  if (at === undefined && isBehind === undefined) return undefined
  const last = isBehind === undefined ? end : isBehind.at + isBehind.length
  const first = at ?? begin
  return { at: first, length: last - first }
}

const endsClause = ({ text, tokens }: Sentence, at: number): boolean =>
  /^\s*([,;.!-]|$)/.test(text.slice(tokens[at]!.end))

/** A sign between two parts of the text. */
const hasBorder = (sentence: Sentence, from: number, to: number): boolean =>
  sentence.tokens.slice(from - 1, to).some((_, at) => endsClause(sentence, from - 1 + at))
