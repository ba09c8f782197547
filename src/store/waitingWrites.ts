import type { Gathered, GatheredWrite } from './gatheredWrites.js'
import type { Hearing } from './stations.js'

/** What was gathered and is not in the database yet; the first of it is in the gathering file already. */
export interface WaitingWrites {
  /** so many of the writes ever gathered are in the database */
  readonly takenCount: number
  /** writes that wait for the database */
  readonly count: number
  /** the gathering file lacks some of it */
  readonly hasUnsaved: boolean
  /** hearings besides, which the stations' rows will say */
  readonly hasHearings: boolean
  /** @param keepAll the oldest may not make room now: it is just being written. @returns false where one was lost */
  add(write: GatheredWrite, keepAll: boolean): boolean
  addHearing(hearing: Hearing): void
  /** Takes what the gathering file still held when it was opened. */
  takeBack(writes: readonly GatheredWrite[], takenBefore: number): void
  /** the oldest so many; throws where the gathering file cannot be read */
  first(countMax: number): readonly GatheredWrite[]
  /** What is in the gathering file cannot be read: it waits no longer. @returns how many there were */
  loseSaved(): number
  /** The first so many are in the database. */
  taken(count: number): void
  /** what the gathering file lacks */
  readonly unsaved: Gathered
  /** The gathering file has all of it, in this record. */
  saved(recordNumber: number): void
  /** The stations' rows say what was heard. */
  forgetHearings(): void
}

/** Where what is in the gathering file begins. */
export interface SavedFrom {
  /** of the first record with writes that are not in the database */
  readonly recordNumber: number
  /** so many of its writes are */
  readonly takenCount: number
}

/**
 * What the gathering file has is not held in memory: it is read again when the database takes it.
 * @param countMax writes, and hearings, that may wait; beyond that the oldest write makes room
 * @param readSaved all writes of the gathering file from there on; may throw
 */
export function waitingWrites(
  countMax: number,
  readSaved: (from: SavedFrom) => readonly GatheredWrite[],
): WaitingWrites {
  // In this order: what a former process gathered, what is in the file, what is nowhere else.
  let former: GatheredWrite[] = []
  const records: { readonly number: number; readonly count: number }[] = []
  let takenOfRecord = 0
  let savedCount = 0
  let unsaved: GatheredWrite[] = []
  let hearings: Hearing[] = []
  let takenCount = 0
  /** of writes in the file, by how many there were before it, ever */
  const done = new Map<number, () => void>()
  /** the writes in the file, while the database takes them */
  let read: readonly GatheredWrite[] | undefined

  const writesInFile = (): readonly GatheredWrite[] => {
    if (savedCount === 0) return []
    if (read !== undefined) return read
    const writes = readSaved({ recordNumber: records[0]!.number, takenCount: takenOfRecord })
    if (writes.length !== savedCount)
      throw new Error(`${writes.length} writes where ${savedCount} were gathered`)
    const before = takenCount + former.length
    read = writes.map((write, at) => ({ ...write, done: done.get(before + at) }))
    return read
  }

  const takenFromFile = (count: number): void => {
    for (let at = 0; at < count; at++) done.delete(takenCount + former.length + at)
    savedCount -= count
    read = savedCount === 0 ? undefined : read?.slice(count)
    takenOfRecord += count
    while (records.length > 0 && takenOfRecord >= records[0]!.count)
      takenOfRecord -= records.shift()!.count
  }

  /** The oldest so many wait no longer. */
  const remove = (count: number): void => {
    const ofFile = Math.min(savedCount, Math.max(0, count - former.length))
    const ofUnsaved = Math.max(0, count - former.length - savedCount)
    if (ofFile > 0) takenFromFile(ofFile)
    takenCount += count
    former = former.slice(count)
    unsaved = unsaved.slice(ofUnsaved)
  }

  return {
    get takenCount() {
      return takenCount
    },
    get count() {
      return former.length + savedCount + unsaved.length
    },
    get hasUnsaved() {
      return unsaved.length > 0
    },
    get hasHearings() {
      return hearings.length > 0
    },
    add(write, keepAll) {
      const isFull = this.count >= countMax
      if (isFull && keepAll) return false
      if (isFull) remove(1)
      unsaved.push(write)
      return !isFull
    },
    addHearing(hearing) {
      if (hearings.length < countMax) hearings.push(hearing)
    },
    takeBack(found, takenBefore) {
      takenCount = takenBefore
      former = [...found]
    },
    first: (count) =>
      count <= former.length
        ? former.slice(0, count)
        : [...former, ...writesInFile(), ...unsaved].slice(0, count),
    loseSaved() {
      const lost = savedCount
      const kept = former
      former = []
      if (lost > 0) remove(lost)
      former = kept
      return lost
    },
    taken: remove,
    get unsaved() {
      const firstWrite = takenCount + former.length + savedCount
      return { firstWrite, writes: unsaved, hearings }
    },
    saved(recordNumber) {
      const before = takenCount + former.length + savedCount
      for (const [at, write] of unsaved.entries())
        if (write.done !== undefined) done.set(before + at, write.done)
      if (unsaved.length > 0) records.push({ number: recordNumber, count: unsaved.length })
      savedCount += unsaved.length
      unsaved = []
      hearings = []
      read = undefined
    },
    forgetHearings() {
      hearings = []
    },
  }
}
