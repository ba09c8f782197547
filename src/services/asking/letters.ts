import { parseBand } from '../repeaters/bands.js'
import { parseMode } from '../repeaters/modeWanted.js'
import { type Found, oneLetter } from './findMeanings.js'
import { isCallWord } from './kinds.js'
import { politeWords } from './politeness.js'
import type { Token } from './tokens.js'
import type { Offered } from './understanding.js'

/** A letter by itself or with arguments; in 'r u there' and 'c'est' it is none. */
export function letterMeant(
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
  const isPolite = ({ folded }: Token): boolean => politeWords.has(folded)
  // 'l Q1ABC see you at the hut'
  const isToStation = found.service.takes === 'text' && isCallWord(others[0]?.raw ?? '')
  const isMeant =
    isToStation ||
    others.every((one) => isTelling(one) || isPolite(one)) ||
    (others.some(isTelling) &&
      !['me', 'node'].includes(known.get(others[0]!.folded) ?? '') &&
      others.every((one) => isTelling(one) || ignored.has(one.folded)))
  return isMeant ? found : undefined
}
