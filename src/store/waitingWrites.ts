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
  /** the oldest so many */
  first(countMax: number): readonly GatheredWrite[]
  /** The first so many are in the database. */
  taken(count: number): void
  /** what the gathering file lacks */
  readonly unsaved: Gathered
  /** The gathering file has all of it. */
  saved(): void
  /** The stations' rows say what was heard. */
  forgetHearings(): void
}

/** @param countMax writes, and hearings, that may wait; beyond that the oldest write makes room */
export function waitingWrites(countMax: number): WaitingWrites {
  let writes: GatheredWrite[] = []
  let savedCount = 0
  let hearings: Hearing[] = []
  let takenCount = 0

  return {
    get takenCount() {
      return takenCount
    },
    get count() {
      return writes.length
    },
    get hasUnsaved() {
      return writes.length > savedCount
    },
    get hasHearings() {
      return hearings.length > 0
    },
    add(write, keepAll) {
      const isFull = writes.length >= countMax
      if (isFull && keepAll) return false
      if (isFull) {
        writes.shift()
        takenCount++
        savedCount = Math.max(0, savedCount - 1)
      }
      writes.push(write)
      return !isFull
    },
    addHearing(hearing) {
      if (hearings.length < countMax) hearings.push(hearing)
    },
    takeBack(found, takenBefore) {
      takenCount = takenBefore
      writes = [...found]
      savedCount = writes.length
    },
    first: (count) => writes.slice(0, count),
    taken(count) {
      takenCount += count
      writes = writes.slice(count)
      savedCount = Math.max(0, savedCount - count)
    },
    get unsaved() {
      return { firstWrite: takenCount + savedCount, writes: writes.slice(savedCount), hearings }
    },
    saved() {
      savedCount = writes.length
      hearings = []
    },
    forgetHearings() {
      hearings = []
    },
  }
}
