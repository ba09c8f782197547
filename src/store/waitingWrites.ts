import type { Gathered, GatheredWrite } from './gatheredWrites.js'
import { type SavedFrom, savedWrites } from './savedWrites.js'
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
  const saved = savedWrites(readSaved)
  let unsaved: GatheredWrite[] = []
  let hearings: Hearing[] = []
  let takenCount = 0

  /** The oldest so many wait no longer. */
  const remove = (count: number): void => {
    const besides = Math.max(0, count - former.length)
    const ofFile = Math.min(saved.count, besides)
    takenCount += count
    former = former.slice(count)
    unsaved = unsaved.slice(besides - ofFile)
    if (ofFile > 0) saved.remove(ofFile)
  }

  return {
    get takenCount() {
      return takenCount
    },
    get count() {
      return former.length + saved.count + unsaved.length
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
        : [...former, ...saved.all(), ...unsaved].slice(0, count),
    loseSaved() {
      const lost = saved.count
      if (lost > 0) saved.remove(lost)
      takenCount += lost
      return lost
    },
    taken: remove,
    get unsaved() {
      return { firstWrite: takenCount + former.length + saved.count, writes: unsaved, hearings }
    },
    saved(recordNumber) {
      saved.add(recordNumber, unsaved)
      unsaved = []
      hearings = []
    },
    forgetHearings() {
      hearings = []
    },
  }
}
