import type { Found } from './findMeanings.js'
import { isCallWord } from './kinds.js'
import { asked } from './meaningOf.js'
import { politeWords } from './politeness.js'
import type { Token } from './tokens.js'
import type { Offered, Understanding } from './understanding.js'

/** 'Message N0CALL-7 late' leaves one, where 'message' alone asks for those that wait. */
export function messageTo(
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

/** What stands before who gets a message. */
export const toWords: ReadonlySet<string> = new Set([
  ...['to', 'for', '4', 'an', 'fur', 'fuer', 'a', 'au', 'pour', 'para', 'per', 'al', 'ad', 'x'],
])

/** 'To Q1ABC: running late' is for Q1ABC, and not for us: how a message is left is offered; 'did Q1ABC make it' asks for that station. */
export function toSomebody(
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
    [toWords, politeWords, greetings].some((words) => words.has(before)) ||
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
export function ofStation(
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

/** 'An Q1ABC: komme später'. */
export function begunTo(
  text: string,
  [to, call, ...others]: readonly Token[],
  offered: Offered,
): Understanding | undefined {
  if (to === undefined || call === undefined || others.length === 0) return undefined
  const isTo = toWords.has(to.folded) && isCallWord(call.raw)
  return isTo && /^\s*:/.test(text.slice(call.end)) ? offerToLeave(call, offered) : undefined
}

export function offerToLeave({ raw }: Token, { services }: Offered): Understanding | undefined {
  const leave = services.find(({ keyword }) => keyword === 'leave')
  return leave && { kind: 'offer', word: raw, services: [leave] }
}
