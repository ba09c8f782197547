import { english } from './english/all.js'
import { filled, octetsOf } from './longest.js'
import type { AirTexts, TextName } from './texts.js'
import { bracesIn, type Wording } from './wording.js'

/** Octets of a message's text (APRS Protocol Reference 1.0.1, chapter 14). */
const messageOctetsMax = 67

/** More than one sentence, between which a message may end: each fits one. */
const ofSentences: ReadonlySet<string> = new Set<TextName>([
  ...(['keptAmong', 'elementsOld', 'elementsAhead', 'seen', 'seenDownlink'] as const),
])

/** What is put in is as long as it likes. */
const unbounded: ReadonlySet<string> = new Set<TextName>([
  // A line of a connection is as long as it likes.
  'letterText',
])

const lists: Readonly<Partial<Record<TextName, number>>> = { months: 12, weekdays: 7, compass: 16 }

/** What is wrong with a translation of one text; undefined where nothing is. @param wording of its language */
function textProblem(name: string, text: string, wording: Wording): string | undefined {
  if (!Object.hasOwn(english, name)) return 'there is no text of this name'
  const original = english[name as TextName]
  const expected = [...new Set(bracesIn(original))].sort()
  const given = [...new Set(bracesIn(text))].sort()
  const missing = expected.filter((one) => !given.includes(one))
  const surplus = given.filter((one) => !expected.includes(one))
  if (surplus.length > 0) return `{${surplus[0]}} means nothing here: ${rightBraces(expected)}`
  if (missing.length > 0) return `{${missing[0]}} is left out: ${rightBraces(expected)}`
  const count = lists[name as TextName]
  if (count !== undefined && text.split(',').length !== count)
    return `got ${text.split(',').length} words with commas between them, expected ${count}`
  if (name === 'decimalSign') return /^[.,]$/.test(text) ? undefined : 'expected "." or ","'
  if (/[|~\x00-\x1f\x7f]/.test(text) || /[{}]/.test(text.replace(/\{\w+\}/g, '')))
    return 'a message holds no | ~ { } and no control characters'
  if (text.trim() === '') return 'it is empty'
  const full = filled(name, text, wording)
  const parts = ofSentences.has(name) ? full.split(/(?<=[.:]) /) : [full]
  const octets = Math.max(...parts.map(octetsOf))
  if (count === undefined && !unbounded.has(name) && octets > messageOctetsMax)
    return `it has ${octets} octets at its longest, at most ${messageOctetsMax} fit: "${full}"`
  return undefined
}

const rightBraces = (expected: readonly string[]): string =>
  expected.length === 0
    ? 'this text has no braces'
    : `expected ${expected.map((one) => `{${one}}`).join(' ')}`

/** All problems of a language's texts, a line each. */
export function textProblems(
  texts: Readonly<Record<string, unknown>>,
  wording: Wording,
): readonly string[] {
  return Object.entries(texts).flatMap(([name, text]) => {
    const problem = typeof text === 'string' ? textProblem(name, text, wording) : 'expected a text'
    return problem === undefined ? [] : [`${name}: ${problem}`]
  })
}

/** Names of texts that a language does not say itself. */
export const missingTexts = (texts: Partial<AirTexts>): readonly TextName[] =>
  (Object.keys(english) as TextName[]).filter((name) => texts[name] === undefined)
