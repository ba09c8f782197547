import type { FailureText } from '../runtime/failure.js'
import type { PttOptions } from './pttOutput.js'

/** What the helper process is started with, as JSON in its only argument. */
export interface HelperOptions extends PttOptions {
  readonly keyedMsMax: number
}

/**
 * What it is told on standard input, a line each. To key, the owner says how often it knows that the line was cut: one that
 * hung must hear of it before it may key again.
 */
export type HelperCommand = `key ${number}` | 'unkey' | 'feed'

/** What it tells on standard output, one JSON object a line; times are monotonic, the same for all processes. */
export type HelperWord =
  /** the line is off and the helper listens */
  | { readonly word: 'ready'; readonly name: string }
  | { readonly word: 'keyed'; readonly atMs: number }
  /** it was not keyed, and will not be until it is asked again */
  | { readonly word: 'refused'; readonly reason: string }
  /** as it was told to, after so many cuts */
  | { readonly word: 'unkeyed'; readonly atMs: number; readonly cutCount: number }
  /** it went off by itself, for that many times so far */
  | {
      readonly word: 'cut'
      readonly atMs: number
      readonly reason: string
      readonly cutCount: number
    }
  /** with its parts where the device could not be had */
  | { readonly word: 'fault'; readonly reason: string; readonly detail?: FaultDetail }

/** What a Failure says, without what cannot be written down. */
export type FaultDetail = FailureText

/** Cuts a stream into lines; a line that grows beyond any sense is dropped. */
export function lineSplitter(onLine: (line: string) => void): (chunk: Buffer | string) => void {
  let rest = ''
  return (chunk) => {
    rest += chunk.toString()
    for (;;) {
      const end = rest.indexOf('\n')
      if (end < 0) break
      onLine(rest.slice(0, end))
      rest = rest.slice(end + 1)
    }
    if (rest.length > lineLengthMax) rest = ''
  }
}

const lineLengthMax = 10_000

/** As lineSplitter, for what is meant for people: blank lines are left out, and all after the first so many. */
export function firstLines(
  linesMax: number,
  onLine: (line: string) => void,
): (chunk: Buffer | string) => void {
  let count = 0
  return lineSplitter((line) => {
    if (line.trim() !== '' && ++count <= linesMax) onLine(line)
  })
}

/** undefined for anything that is no word of the helper: a program that it runs may write to its output. */
export function parseHelperWord(line: string): HelperWord | undefined {
  try {
    const word = (JSON.parse(line) ?? {}) as Record<string, unknown>
    const kind = String(word.word)
    if (!Object.hasOwn(fieldTypes, kind)) return undefined
    const fields = Object.entries(fieldTypes[kind as HelperWord['word']])
    return fields.every(([name, type]) => typeof word[name] === type)
      ? (word as unknown as HelperWord)
      : undefined
  } catch {
    return undefined
  }
}

/** What each word must have. */
const fieldTypes: Readonly<Record<HelperWord['word'], Readonly<Record<string, string>>>> = {
  ready: { name: 'string' },
  keyed: { atMs: 'number' },
  refused: { reason: 'string' },
  unkeyed: { atMs: 'number', cutCount: 'number' },
  cut: { atMs: 'number', reason: 'string', cutCount: 'number' },
  fault: { reason: 'string' },
}
