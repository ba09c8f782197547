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

/** What a data file held. `rejected` has no more than `rejectedKeptMax` entries; `rejectedCount` counts all. */
export interface Loaded<T> {
  readonly entries: readonly T[]
  readonly rejected: readonly Rejected[]
  readonly rejectedCount: number
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
export function rejectedList(): { add(one: Rejected): void; list: Rejected[]; count: number } {
  const gathered = {
    list: [] as Rejected[],
    count: 0,
    add(one: Rejected): void {
      gathered.count++
      if (gathered.list.length < rejectedKeptMax) gathered.list.push(one)
    },
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
