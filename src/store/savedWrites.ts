import type { GatheredWrite } from './gatheredWrites.js'

/** Where what is in the gathering file begins. */
export interface SavedFrom {
  /** of the first record with writes that are not in the database */
  readonly recordNumber: number
  /** so many of its writes are */
  readonly takenCount: number
}

/** Writes that the gathering file has and the database has not: not held in memory, but for what is to be done after them. */
export interface SavedWrites {
  readonly count: number
  /** The file has these now, in this record. */
  add(recordNumber: number, writes: readonly GatheredWrite[]): void
  /** All of them. @throws Error where the file cannot be read */
  all(): readonly GatheredWrite[]
  /** The oldest so many wait no longer. */
  remove(count: number): void
}

/** @param read all writes of the gathering file from there on; may throw */
export function savedWrites(read: (from: SavedFrom) => readonly GatheredWrite[]): SavedWrites {
  let records: { readonly number: number; readonly count: number }[] = []
  let takenOfRecord = 0
  /** one a write */
  let done: GatheredWrite['done'][] = []
  /** while the database takes them */
  let present: readonly GatheredWrite[] | undefined

  return {
    get count() {
      return done.length
    },
    add(recordNumber, writes) {
      if (writes.length === 0) return
      records.push({ number: recordNumber, count: writes.length })
      done = [...done, ...writes.map((write) => write.done)]
      present = undefined
    },
    all() {
      if (done.length === 0) return []
      if (present !== undefined) return present
      const writes = read({ recordNumber: records[0]!.number, takenCount: takenOfRecord })
      if (writes.length !== done.length)
        throw new Error(`${writes.length} writes where ${done.length} were gathered`)
      present = writes.map((write, at) => ({ ...write, done: done[at] }))
      return present
    },
    remove(count) {
      done = done.slice(count)
      present = done.length === 0 ? undefined : present?.slice(count)
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
