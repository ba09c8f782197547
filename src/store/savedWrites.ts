import type { GatheredWrite } from './gatheredWrites.js'

/** Writes that the gathering file has and the database has not: not held in memory, but for what is to be done after them. */
export interface SavedWrites {
  readonly count: number
  /** The file has these now, in this record. */
  add(recordNumber: number, writes: readonly GatheredWrite[]): void
  /** The oldest so many: no more of the file is read. @throws Error where it cannot be read */
  first(countMax: number): readonly GatheredWrite[]
  /** The oldest so many wait no longer. */
  remove(count: number): void
}

/** @param read the writes of each record of the gathering file, from one on; may throw */
export function savedWrites(
  read: (fromRecord: number) => Iterable<readonly GatheredWrite[]>,
): SavedWrites {
  let records: { readonly number: number; readonly count: number }[] = []
  /** so many of the first record are in the database */
  let takenOfRecord = 0
  /** one a write */
  let done: GatheredWrite['done'][] = []

  return {
    get count() {
      return done.length
    },
    add(recordNumber, writes) {
      if (writes.length === 0) return
      records.push({ number: recordNumber, count: writes.length })
      done = [...done, ...writes.map((write) => write.done)]
    },
    first(countMax) {
      const count = Math.min(countMax, done.length)
      if (count === 0) return []
      const writes: GatheredWrite[] = []
      for (const ofRecord of read(records[0]!.number)) {
        writes.push(...ofRecord)
        if (writes.length >= takenOfRecord + count) break
      }
      if (writes.length < takenOfRecord + count)
        throw new Error(`${writes.length} writes where ${takenOfRecord + count} were gathered`)
      return writes
        .slice(takenOfRecord, takenOfRecord + count)
        .map((write, at) => ({ ...write, done: done[at] }))
    },
    remove(count) {
      done = done.slice(count)
      takenOfRecord += count
      const untaken = records.findIndex((record) => {
        if (takenOfRecord < record.count) return true
        takenOfRecord -= record.count
        return false
      })
      records = untaken < 0 ? [] : records.slice(untaken)
    },
  }
}
