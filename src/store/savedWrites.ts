import type { GatheredWrite } from './gatheredWrites.js'

/** Writes that the gathering file has and the database has not: not held in memory, but for what is to be done after them. */
export interface SavedWrites {
  readonly count: number
  /** The file has these now, in this record. */
  add(recordNumber: number, writes: readonly GatheredWrite[]): void
  /**
   * At most so many, from the given one on, 0 the oldest: no more of the file is read.
   * @throws Error where it cannot be read
   */
  part(from: number, countMax: number): readonly GatheredWrite[]
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
    part(from, countMax) {
      const count = Math.min(countMax, done.length - from)
      if (count <= 0) return []
      let skipped = takenOfRecord + from
      const first = records.find((record) => {
        if (skipped < record.count) return true
        skipped -= record.count
        return false
      })!
      const writes: GatheredWrite[] = []
      for (const ofRecord of read(first.number)) {
        writes.push(...ofRecord)
        if (writes.length >= skipped + count) break
      }
      if (writes.length < skipped + count)
        throw new Error(`${writes.length} writes where ${skipped + count} were gathered`)
      return writes
        .slice(skipped, skipped + count)
        .map((write, at) => ({ ...write, done: done[from + at] }))
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
