import type { Clock } from '../../src/runtime/clock.js'
import { seededRandom } from '../../src/runtime/random.js'

export interface Place {
  xKm: number
  yKm: number
  /** over its surroundings: a hill is heard by all */
  heightM: number
}

/** How well stations hear each other: distance, hills between them, and fading that comes and goes. */
export interface Paths {
  readonly places: Map<string, Place>
  hears(from: string, to: string): boolean
  captures(from: string, over: string, to: string): boolean
  lossShare(from: string, to: string): number
}

/** What lies between two stations. */
interface Pair {
  readonly hillDb: number
  readonly fadeDb: number
  readonly periodMs: number
}

/** How strong one is at another, as it was reckoned for a minute. */
interface Level {
  minute: number
  levelDb: number
  readonly pair: Pair
}

/** Over what a receiver needs; below it carrier detect sees nothing either. */
const heardAboveDb = 0
/** The stronger of two FM signals is heard alone when it is stronger by this (common practice, no source). */
const captureDb = 6

export function createPaths(clock: Clock, seed: number): Paths {
  const places = new Map<string, Place>()
  const levels = new Map<string, Map<string, Level>>()

  /** The same both ways. */
  const pairOf = (a: string, b: string): Pair => {
    const random = seededRandom(seed + hash(a < b ? `${a} ${b}` : `${b} ${a}`))
    return {
      hillDb: 12 * random() ** 2,
      fadeDb: 1 + 5 * random(),
      periodMs: 120_000 + random() * 1_800_000,
    }
  }

  const levelDb = (from: string, to: string): number => {
    const minute = Math.floor(clock.monotonicMs() / 60_000)
    let those = levels.get(from)
    if (those === undefined) {
      those = new Map()
      levels.set(from, those)
    }
    let level = those.get(to)
    if (level?.minute === minute) return level.levelDb
    if (level === undefined) {
      level = { minute, levelDb: 20, pair: pairOf(from, to) }
      those.set(to, level)
    }
    level.minute = minute
    const a = places.get(from)
    const b = places.get(to)
    if (a !== undefined && b !== undefined) {
      const { hillDb, fadeDb, periodMs } = level.pair
      const distanceKm = Math.max(0.2, Math.hypot(a.xKm - b.xKm, a.yKm - b.yKm))
      const heightDb = 10 * Math.log10(1 + a.heightM / 20) + 10 * Math.log10(1 + b.heightM / 20)
      const fade = fadeDb * Math.sin((2 * Math.PI * minute * 60_000) / periodMs)
      level.levelDb = 28 + heightDb - 40 * Math.log10(distanceKm) - hillDb + fade
    }
    return level.levelDb
  }

  return {
    places,
    hears: (from, to) => levelDb(from, to) >= heardAboveDb,
    captures: (from, over, to) => levelDb(from, to) - levelDb(over, to) >= captureDb,
    lossShare(from, to) {
      const level = levelDb(from, to)
      if (level < 3) return 0.6
      return level < 8 ? 0.2 : 0.02
    },
  }
}

function hash(text: string): number {
  let value = 0
  for (const character of text) value = (Math.imul(value, 31) + character.charCodeAt(0)) | 0
  return value
}
