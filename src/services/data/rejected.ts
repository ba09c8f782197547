import { harmlessJson } from '../../runtime/harmlessText.js'

/** A part of a data file that was left out; the rest is used. */
export interface Rejected {
  /** counted from 1 */
  readonly line: number
  /** the field's name, when one field is to blame */
  readonly field?: string
  readonly got: string
  readonly expected: string
}

/** A part of a data file that is used, though not all of it, or not without doubt. */
export interface Warned {
  /** counted from 1 */
  readonly line: number
  readonly field?: string
  readonly got: string
  /** what was made of it, such as 'kept without a tone' */
  readonly taken: string
}

/** One line for a person: `repeaters.csv:9: tone: got "8.85": kept without a tone`. */
export function describeWarned(file: string, { line, field, got, taken }: Warned): string {
  return `${file}:${line}: ${field === undefined ? '' : `${field}: `}got ${got}: ${taken}`
}

/** What a data file held. The lists have no more than `rejectedKeptMax` entries each; the counts count all. */
export interface Loaded<T> {
  readonly entries: readonly T[]
  readonly rejected: readonly Rejected[]
  readonly rejectedCount: number
  /** used, though not all of it, or not without doubt */
  readonly warned?: readonly Warned[]
  readonly warnedCount?: number
}

/** One line for a person: `repeaters.csv:14: latitude: got "91.2", expected -90 to 90`. */
export function describeRejected(file: string, rejected: Rejected): string {
  const field = rejected.field === undefined ? '' : `${rejected.field}: `
  return `${file}:${rejected.line}: ${field}got ${rejected.got}, expected ${rejected.expected}`
}

/** A value of a file, as messages show it. */
export function quoted(value: string): string {
  if (value === '') return 'nothing'
  return harmlessJson(JSON.stringify(value.length > 40 ? `${value.slice(0, 38)}..` : value))
}

const rejectedKeptMax = 1000

/** Gathers what is left out, within its limit. */
export const rejectedList = () =>
  gatheredList<Rejected>(({ field, expected }) => `${field ?? 'row'}: expected ${expected}`)

/** Reasons are few, but for those that repeat a file's own words. */
const reasonsMax = 50

/** Gathers remarks about a file within limits; `reasons` counts them, the most frequent first. */
export function gatheredList<T>(reasonOf: (one: T) => string) {
  const counts = new Map<string, number>()
  const gathered = {
    list: [] as T[],
    count: 0,
    add(one: T): void {
      gathered.count++
      if (gathered.list.length < rejectedKeptMax) gathered.list.push(one)
      const reason = reasonOf(one)
      const key = counts.has(reason) || counts.size < reasonsMax ? reason : 'other reasons'
      counts.set(key, (counts.get(key) ?? 0) + 1)
    },
    reasons: (): { reason: string; count: number }[] =>
      [...counts].map(([reason, count]) => ({ reason, count })).sort((a, b) => b.count - a.count),
  }
  return gathered
}

/** Sorts what a reader gives into what can be used and what is left out. */
export function loadedOf<T extends object>(read: Iterable<T | Rejected>): Loaded<T> {
  const rejected = rejectedList()
  const entries: T[] = []
  for (const one of read) {
    if (isRejected(one)) rejected.add(one)
    else entries.push(one)
  }
  return { entries, rejected: rejected.list, rejectedCount: rejected.count }
}

export const isRejected = (one: object): one is Rejected => 'expected' in one
