import { messageCharactersMax } from '../aprs/messageText.js'
import { type Reference, referenceOf } from './geo/reference.js'
import { ageWords } from './geo/words.js'
import type { Service, ServiceContext } from './service.js'
import type { ElementSet } from './sky/elementSet.js'
import { lookAt, type Observer } from './sky/look.js'
import { nextRise } from './sky/nextRise.js'
import { type LookAtTime, type Pass, passesOf } from './sky/passes.js'
import { clockWords, weekdayWords, zoneWords } from './timeWords.js'

export interface PassOptions {
  /** the element sets as they are now; undefined when none are loaded */
  elements(): readonly ElementSet[] | undefined
  readonly positionAgeMaxMs: number
  /** older (or younger than now by so much) elements give no answer */
  readonly elementAgeMaxMs: number
  /** a pass that stays lower is not worth the wait */
  readonly elevationMinDeg: number
}

const hourMs = 3_600_000
const searchMs = 48 * hourMs

/** `pass NAME`: the next pass of one satellite; `pass next`: of whichever rises first. */
export function passService(options: PassOptions): Service {
  return {
    keyword: 'pass',
    summary: 'Next pass of a satellite: rise, highest, set with azimuths',
    usage: 'pass NAME (or: pass next)',
    answer(question, context) {
      const all = options.elements() ?? []
      if (all.length === 0) return 'No satellite elements are loaded here.'
      const wanted = question.rest.trim()
      if (wanted === '') return `Pass of what? ${someNames(all)}, or: pass next`
      const reference = referenceOf(context, options.positionAgeMaxMs)
      if (reference === undefined) return 'Where are you? Send a position beacon, then ask again.'
      const heightM = reference.of === 'node' ? context.node.heightM : 0
      const observer = { ...reference.position, heightM }
      const nowMs = context.clock.wallMs()
      const isNext = /^(next|any)$/i.test(wanted)
      const found = isNext ? all : findSatellites(wanted, all)
      if (found.length === 0)
        return `No satellite "${wanted.slice(0, 16)}" here. Known: ${someNames(all)}`
      if (!isNext && found.length > 1) return `Which one? ${someNames(found)}`
      const fresh = found.filter((set) => ageOf(set, nowMs) <= options.elementAgeMaxMs)
      if (fresh.length === 0) return tooOld(found, nowMs, options)
      return isNext
        ? nextOfAll(fresh, observer, reference, context, options)
        : nextOfOne(fresh[0]!, observer, reference, context, options)
    },
  }
}

const ageOf = (set: ElementSet, nowMs: number): number => Math.abs(nowMs - set.epochWallMs)

function tooOld(sets: readonly ElementSet[], nowMs: number, options: PassOptions): string {
  const newest = sets.reduce((best, one) => (ageOf(one, nowMs) < ageOf(best, nowMs) ? one : best))
  const side = newest.epochWallMs > nowMs ? 'ahead of this clock' : 'old'
  const whose = sets.length === 1 ? newest.name.slice(0, 16) : 'All'
  const limit = ageWords(options.elementAgeMaxMs)
  return `${whose}: elements ${ageWords(ageOf(newest, nowMs))} ${side}, no use past ${limit}. Load new ones.`
}

/** By catalog number, whole name, beginning, or any part, in that order; letters and digits count only. */
function findSatellites(wanted: string, all: readonly ElementSet[]): readonly ElementSet[] {
  const folded = fold(wanted)
  if (folded === '') return []
  let best: ElementSet[] = []
  let bestRank = Infinity
  // A long list is gone through once: most of the time goes into the names.
  for (const set of all) {
    const rank = set.catalogNumber === wanted ? 0 : rankOf(fold(set.name), folded)
    if (rank < bestRank) {
      best = []
      bestRank = rank
    }
    if (rank === bestRank && rank < Infinity) best.push(set)
  }
  return best
}

function rankOf(name: string, wanted: string): number {
  if (name === wanted) return 1
  const at = name.indexOf(wanted)
  if (at === -1) return Infinity
  return at === 0 ? 2 : 3
}

const fold = (name: string): string => name.toLowerCase().replace(/[^a-z0-9]/g, '')

/** As many names as fit about one message. */
function someNames(all: readonly ElementSet[]): string {
  const names = all.map((set) => set.name)
  let text = ''
  for (const [at, name] of names.entries()) {
    const longer = text === '' ? name : `${text}, ${name}`
    if (longer.length > 50) return `${text} and ${names.length - at} more`
    text = longer
  }
  return text
}

function nextOfOne(
  set: ElementSet,
  observer: Observer,
  reference: Reference,
  context: ServiceContext,
  options: PassOptions,
): string | string[] {
  const nowMs = context.clock.wallMs()
  const name = set.name.slice(0, 16)
  for (const pass of passesOf(set, observer, nowMs, nowMs + searchMs)) {
    if (pass.upAtStart && pass.upAtEnd) {
      const look = lookAt(set, observer, nowMs)!
      return [`${name} is always up: ${pointing(look)}`, noteOn(set, reference, context)]
    }
    if (pass.highest.elevationDeg < options.elevationMinDeg) continue
    return [passWords(name, pass, nowMs, context), noteOn(set, reference, context)]
  }
  const place = reference.of === 'asker' ? 'your place' : 'the node'
  if (lookAt(set, observer, nowMs) === undefined)
    return `${name}: no pass can be computed, perhaps burnt up`
  return `${name} does not rise over ${options.elevationMinDeg} deg at ${place} within 2 days.`
}

async function nextOfAll(
  sets: readonly ElementSet[],
  observer: Observer,
  reference: Reference,
  context: ServiceContext,
  options: PassOptions,
): Promise<string | string[]> {
  const { elevationMinDeg } = options
  const nowMs = context.clock.wallMs()
  const found = await nextRise(sets, observer, nowMs, elevationMinDeg)
  if (found === undefined)
    return `None of ${sets.length} satellites rises over ${elevationMinDeg} deg within a day.`
  const { set, pass } = found
  return [passWords(set.name.slice(0, 16), pass, nowMs, context), noteOn(set, reference, context)]
}

/** `FIELDLARK rise 14:03 az310, top 14:09 el41 az32, set 14:14 az120`; the name is cut so that it fits one message. */
function passWords(name: string, pass: Pass, nowMs: number, context: ServiceContext): string {
  const { utcOffsetMinutes } = context.node
  const at = (look: LookAtTime): string => clockWords(look.wallMs, utcOffsetMinutes)
  const day = weekdayWords(pass.rise.wallMs, utcOffsetMinutes)
  const isToday = day === weekdayWords(nowMs, utcOffsetMinutes)
  const rise = pass.upAtStart
    ? `up now ${azimuth(pass.rise)}`
    : `rise ${isToday ? '' : `${day} `}${at(pass.rise)} ${azimuth(pass.rise)}`
  const top = `top ${at(pass.highest)} ${pointing(pass.highest)}`
  const set = pass.upAtEnd ? 'up for days' : `set ${at(pass.set)} ${azimuth(pass.set)}`
  const isPast = pass.upAtStart && pass.highest.wallMs <= nowMs
  const words = `${isPast ? `up now ${pointing(pass.rise)}` : `${rise}, ${top}`}, ${set}`
  return `${name.slice(0, messageCharactersMax - words.length - 1).trim()} ${words}`
}

const azimuth = (look: { azimuthDeg: number }): string => `az${Math.round(look.azimuthDeg) % 360}`
const pointing = (look: { azimuthDeg: number; elevationDeg: number }): string =>
  `el${Math.round(look.elevationDeg)} ${azimuth(look)}`

/** `Seen from you, UTC-2. Elements 3d old.` */
function noteOn(set: ElementSet, reference: Reference, context: ServiceContext): string {
  const place = reference.words.replace(/^of /, 'from ')
  const age = ageWords(ageOf(set, context.clock.wallMs()))
  const words = age === 'now' ? 'Elements of now.' : `Elements ${age} old.`
  return `Seen ${place}, ${zoneWords(context.node.utcOffsetMinutes)}. ${words}`
}
