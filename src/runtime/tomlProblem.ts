/** What a TOML parser throws, as far as it is used. */
interface TomlFault {
  readonly message: string
  /** from 1 */
  readonly line: number
  readonly column: number
}

/** What is wrong in a TOML file, and where. */
export interface TomlProblem {
  /** ':3:8', behind the file's name; '' where no place is known */
  readonly place: string
  /** in words, with the line and a mark under the place on lines of their own */
  readonly problem: string
}

/** By what the parser says (smol-toml 1.x). */
const wordsByFault: readonly (readonly [RegExp, string])[] = [
  [/invalid value/, 'this is not a value: text stands in quotes, a number has no unit beside it'],
  [/unfinished string/, 'a quotation mark is missing at the end of the text'],
  [/unfinished (array|table)|expected comma or end/, 'a comma or a closing bracket is missing'],
  [/end of table array/, 'a closing bracket is missing: [[radio]]'],
  [/end-of-line/, 'there is more behind the value than may be: one key a line'],
  [/cannot find end of key|end of key/, 'after a key comes = and its value'],
  [/character in key|bare key|quoted key/, 'this is not a key: a line is KEY = VALUE, or [TABLE]'],
  [/redefine/, 'this stands twice'],
  [/leading zero/, 'a number does not begin with 0; text stands in quotes'],
  [/numeric|integer|underscore/, 'this is not a number; text stands in quotes'],
  [/\bdate/, 'this is not a date; text stands in quotes'],
  [/escape/, 'a backslash in text is written twice, or the text stands in single quotes'],
  [/control characters/, 'there is a character here that cannot be printed'],
]

/** @param text the file's; @param error what the parser threw */
export function tomlProblem(text: string, error: unknown): TomlProblem {
  const { message = '', line, column } = (error ?? {}) as Partial<TomlFault>
  const words = wordsByFault.find(([fault]) => fault.test(message))?.[1] ?? 'this is not TOML'
  if (line === undefined || column === undefined) return { place: '', problem: words }
  const source = text.split(/\r?\n/)[line - 1] ?? ''
  // What is far behind in a long line would not be seen.
  const from = Math.max(0, column - 1 - shownBefore)
  const shown = source.slice(from, from + shownMax).replaceAll('\t', ' ')
  const mark = `${' '.repeat(column - 1 - from)}^`
  return { place: `:${line}:${column}`, problem: `${words}\n  ${shown}\n  ${mark}` }
}

const shownBefore = 50
const shownMax = 76
