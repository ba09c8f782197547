import type { Gathered, GatheredWrite } from './gatheredWrites.js'
import { savedWrites } from './savedWrites.js'
import type { Hearing } from './stations.js'

/** What was gathered and is not in the database yet; the first of it is in the gathering file already. */
export interface WaitingWrites {
  /** so many of the writes ever gathered are in the database */
  readonly takenCount: number
  /** writes that wait for the database */
  readonly count: number
  /** so many of them the gathering file lacks */
  readonly unsavedCount: number
  /** hearings besides, which the stations' rows will say */
  readonly hasHearings: boolean
  /** @param keepAll the oldest may not make room now: it is just being written. @returns false where one was lost */
  add(write: GatheredWrite, keepAll: boolean): boolean
  addHearing(hearing: Hearing): void
  /** Takes what the gathering file still held when it was opened. */
  takeBack(writes: readonly GatheredWrite[], takenBefore: number): void
  /** at most so many, from the given one on, 0 the oldest; throws where the gathering file cannot be read */
  part(from: number, countMax: number): readonly GatheredWrite[]
  /** What is in the gathering file cannot be read: it waits no longer. @returns how many there were */
  loseSaved(): number
  /** The first so many are in the database. */
  taken(count: number): void
  /** The oldest of what the gathering file lacks. @param countMax of writes, and of hearings */
  unsaved(countMax: number): Gathered
  /** The gathering file has this part, just given by `unsaved`, in this record. */
  saved(recordNumber: number, part: Gathered): void
  /** The stations' rows say what was heard. */
  forgetHearings(): void
}

/**
 * What the gathering file has is not held in memory: it is read again when the database takes it.
 * @param countMax writes, and hearings, that may wait; beyond that the oldest write makes room
 * @param readSaved the writes of each record of the gathering file, from one on; may throw
 */
export function waitingWrites(
  countMax: number,
  readSaved: (fromRecord: number) => Iterable<readonly GatheredWrite[]>,
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
    get unsavedCount() {
      return unsaved.length
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
    part(from, count) {
      const old = former.slice(from, from + count)
      const inFile = saved.part(Math.max(0, from - former.length), count - old.length)
      const place = Math.max(0, from - former.length - saved.count)
      const left = count - old.length - inFile.length
      return [...old, ...inFile, ...unsaved.slice(place, place + left)]
    },
    loseSaved() {
      const lost = saved.count
      if (lost > 0) saved.remove(lost)
      takenCount += lost
      return lost
    },
    taken: remove,
    unsaved: (count) => ({
      firstWrite: takenCount + former.length + saved.count,
      writes: unsaved.slice(0, count),
      hearings: hearings.slice(0, count),
    }),
    saved(recordNumber, part) {
      saved.add(recordNumber, part.writes)
      unsaved = unsaved.slice(part.writes.length)
      hearings = hearings.slice(part.hearings.length)
    },
    forgetHearings() {
      hearings = []
    },
  }
}
