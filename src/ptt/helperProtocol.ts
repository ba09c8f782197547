import type { FailureDetail } from '../runtime/failure.js'
import type { PttOptions } from './pttOutput.js'

/** What the helper process is started with, as JSON in its only argument. */
export interface HelperOptions extends PttOptions {
  readonly keyedMsMax: number
}

/** What it is told on standard input, one word a line. */
const helperCommands = ['key', 'unkey', 'feed'] as const
export type HelperCommand = (typeof helperCommands)[number]

/** What it tells on standard output, one JSON object a line; times are monotonic, the same for all processes. */
export type HelperWord =
  /** the line is off and the helper listens */
  | { readonly word: 'ready'; readonly name: string }
  | { readonly word: 'keyed'; readonly atMs: number }
  /** with a reason when nobody asked for it */
  | { readonly word: 'unkeyed'; readonly atMs: number; readonly reason: string }
  /** with its parts where the device could not be had */
  | { readonly word: 'fault'; readonly reason: string; readonly detail?: FaultDetail }

/** What a Failure says, without what cannot be written down. */
export type FaultDetail = Pick<FailureDetail, 'subject' | 'got' | 'expected' | 'advice'>

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

/** undefined for anything that is no word of the helper. */
export function parseHelperWord(line: string): HelperWord | undefined {
  try {
    const word = JSON.parse(line) as HelperWord
    return typeof word === 'object' && word !== null && 'word' in word ? word : undefined
  } catch {
    return undefined
  }
}
