import { messageCharactersMax } from '../aprs/messageText.js'
import { inEnglish } from '../words/air/all.js'
import type { Wording } from '../words/air/wording.js'
import type { DayWanted } from './asking/days.js'
import { readDueTime } from './asking/dueTime.js'
import {
  type Arguments,
  type Known,
  offsetAtOf,
  placeAsked,
  readArguments,
} from './asking/readArguments.js'
import { composed } from './compose.js'
import { type Reference, referenceAsked } from './geo/reference.js'
import { ageWords, spanWords } from './geo/words.js'
import { positionHint } from './positionHint.js'
import { whereAreYou } from './repeaters.js'
import type { Readiness, Service, ServiceContext } from './service.js'
import type { ElementSet } from './sky/elementSet.js'
import { lookAt, type Observer } from './sky/look.js'
import { madeForTheDay } from './sky/madeForTheDay.js'
import { nextRise } from './sky/nextRise.js'
import { type LookAtTime, type Pass, passesOf } from './sky/passes.js'
import { capitalised, clockWords, dayWords, isoDate, weekdayWords, zoneWords } from './timeWords.js'
import { wordingOf } from './wordingOf.js'

export interface PassOptions {
  /** the element sets as they are now; undefined when none are loaded */
  elements(): readonly ElementSet[] | undefined
  readonly positionAgeMaxMs: number
  /** older (or younger than now by so much) elements give no answer */
  readonly elementAgeMaxMs: number
  /** a pass that stays lower is not worth the wait */
  readonly elevationMinDeg: number
  readonly known?: Known
}

const hourMs = 3_600_000
const searchMs = 48 * hourMs
const dayMs = 24 * hourMs
const minuteMs = 60_000
/** 'Tonight' goes on past midnight. */
const nightMs = 10 * hourMs

/** `pass NAME [day]`: the next pass of one satellite; `pass next`: of whichever rises first. */
export function passService(options: PassOptions): Service {
  return {
    keyword: 'pass',
    summary: 'Next pass of a satellite: rise, highest, set with azimuths',
    usage: 'pass NAME [day] (or: pass next)',
    ready: ({ clock }) => readinessOf(options, clock.wallMs()),
    recognises: (words) => isName(nameIn(words), options.elements() ?? []),
    async answer(question, context) {
      const { words } = question
      const all = madeForTheDay(options.elements() ?? [], context.clock.wallMs())
      const wording = wordingOf(context)
      if (all.length === 0) return wording.say('noElements')
      const asked = readArguments(words, context, options.known, { dates: true })
      const reference = referenceAsked(
        placeAsked(asked, context),
        context,
        options.positionAgeMaxMs,
      )
      if (reference === undefined) return whereAreYou('pass next', wording)
      const found = satellitesIn(words, asked, all, wording)
      if (typeof found === 'string') return found
      const nowMs = context.clock.wallMs()
      const fresh = found.sets.filter((set) => ageOf(set, nowMs) <= options.elementAgeMaxMs)
      if (fresh.length === 0) return tooOld(found.sets, nowMs, options, wording)
      const fromMs = Math.max(nowMs, fromAsked(words, asked.day, context))
      const heightM = reference.of === 'node' ? context.node.heightM : 0
      const from = {
        observer: { ...reference.position, heightM },
        reference,
        // Of a day ahead the first pass of that day, of today the next.
        fromMs,
        toMs: toAsked(words, asked.day, fromMs),
        day: asked.day,
      }
      const told = found.isAny
        ? await nextOfAll(fresh, from, context, options)
        : nextOfOne(fresh[0]!, from, context, options)
      const hint = positionHint(reference, asked.isNode, question, context)
      if (hint === undefined) return told
      return composed([...(typeof told === 'string' ? [told] : told), hint])
    },
  }
}

/** From where and when a pass is looked for. */
interface From {
  readonly observer: Observer
  readonly reference: Reference
  readonly fromMs: number
  readonly toMs: number
  readonly day: DayWanted | undefined
}

/** '20:00', '8pm', '20h': behind 'after', or alone; a figure without more is part of a name. */
const timeWord = /^\d{1,2}(?:[:.h]\d{2}|h|am|pm|uhr)+$/i
const eveningMinute = 18 * 60

/** From when a pass is wanted: the time of day that is named, the evening of 'tonight', else the day's beginning, or now. */
function fromAsked(
  words: readonly string[],
  day: DayWanted | undefined,
  { clock, node }: ServiceContext,
): number {
  const nowMs = clock.wallMs()
  const time = readDueTime(words.find((word) => timeWord.test(word)) ?? '')
  const minuteOfDay =
    time?.kind === 'clock'
      ? time.minuteOfDay
      : words.includes('tonight')
        ? eveningMinute
        : undefined
  if (minuteOfDay === undefined) return day?.fromWallMs ?? nowMs
  const offsetMs = offsetAtOf(node)(nowMs) * minuteMs
  const today = Math.floor((nowMs + offsetMs) / dayMs) * dayMs - offsetMs
  return (day?.fromWallMs ?? today) + minuteOfDay * minuteMs
}

/** Until when it is looked for. */
function toAsked(words: readonly string[], day: DayWanted | undefined, fromMs: number): number {
  if (day === undefined) return fromMs + searchMs
  const dayEndMs = day.fromWallMs + dayMs
  return words.includes('tonight') ? Math.max(dayEndMs, fromMs + nightMs) : dayEndMs
}

/** Words that are no part of a satellite's name. */
const notOfName: ReadonlySet<string> = new Set([
  ...['next', 'all', 'me', 'node', 'here', 'more', 'today', 'tonight', 'tomorrow', 'overmorrow'],
])

const nameIn = (words: readonly string[]): string =>
  words.filter((word) => !notOfName.has(word) && !timeWord.test(word)).join(' ')

/** The satellites that are named; all of them when none is, or what to say where the name is no satellite's. */
function satellitesIn(
  words: readonly string[],
  { place, call, unknown }: Arguments,
  all: readonly ElementSet[],
  wording: Wording,
): { readonly sets: readonly ElementSet[]; readonly isAny: boolean } | string {
  const named = [nameIn(words), ...unknown, nameIn(words).replace(/\s\S*$/, '')]
  for (const name of named) {
    const sets = findSatellites(name, all)
    if (sets.length === 1) return { sets, isAny: false }
    if (sets.length > 1) return wording.say('whichOne', { names: someNames(sets, wording) })
  }
  // A time of day is no name.
  const [wanted] = unknown.filter((name) => /\p{L}{2}/u.test(name) && !timeWord.test(name))
  const isDesignator = /^[a-z]{2,3}-?\d{1,3}$/i.test(wanted ?? '')
  const isElsewhere = place !== undefined || call !== undefined
  if (wanted === undefined || (isElsewhere && !isDesignator)) return { sets: all, isAny: true }
  return wording.say('noSatellite', {
    ...{ word: wanted.slice(0, 16), names: someNames(all, wording) },
  })
}

function readinessOf({ elements, elementAgeMaxMs }: PassOptions, nowMs: number): Readiness {
  const all = madeForTheDay(elements() ?? [], nowMs)
  if (all.length === 0) return notReady('empty', 'noElementsReason')
  return all.some((set) => ageOf(set, nowMs) <= elementAgeMaxMs)
    ? { state: 'ready' }
    : notReady('stale', 'oldElementsReason')
}

const notReady = (
  state: 'empty' | 'stale',
  text: 'noElementsReason' | 'oldElementsReason',
): Readiness => ({ state, text, reason: inEnglish.say(text) })

const ageOf = (set: ElementSet, nowMs: number): number => Math.abs(nowMs - set.epochWallMs)

function tooOld(
  sets: readonly ElementSet[],
  nowMs: number,
  options: PassOptions,
  wording: Wording,
): string {
  const newest = sets.reduce((best, one) => (ageOf(one, nowMs) < ageOf(best, nowMs) ? one : best))
  const isAhead = newest.epochWallMs > nowMs
  return wording.say(isAhead ? 'elementsAhead' : 'elementsOld', {
    name: sets.length === 1 ? shortName(newest.name, 16) : wording.say('allOfThem'),
    age: spanWords(ageOf(newest, nowMs), wording),
    limit: spanWords(options.elementAgeMaxMs, wording),
  })
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

/** A number or beginning of a name; what stands within a name is any syllable. */
const isName = (words: string, all: readonly ElementSet[]): boolean =>
  fold(words).length >= 3 &&
  all.some(
    ({ catalogNumber, name }) => catalogNumber === words || rankOf(fold(name), fold(words)) <= 2,
  )

function rankOf(name: string, wanted: string): number {
  if (name === wanted) return 1
  const at = name.indexOf(wanted)
  if (at === -1) return Infinity
  return at === 0 ? 2 : 3
}

const fold = (name: string): string => name.toLowerCase().replace(/[^a-z0-9]/g, '')

/** As many names as fit about one message. */
function someNames(all: readonly ElementSet[], wording: Wording): string {
  const names = all.map((set) => set.name)
  let text = ''
  for (const [at, name] of names.entries()) {
    const longer = text === '' ? name : `${text}, ${name}`
    if (longer.length > 50)
      return wording.say('namesAndMore', { names: text, count: names.length - at })
    text = longer
  }
  return text
}

function nextOfOne(
  set: ElementSet,
  { observer, reference, fromMs, toMs, day }: From,
  context: ServiceContext,
  options: PassOptions,
): string | readonly string[] {
  const wording = wordingOf(context)
  const name = shortName(set.name, 16)
  for (const pass of passesOf(set, observer, fromMs, toMs, 0)) {
    if (pass.upAtStart && pass.upAtEnd) {
      const look = lookAt(set, observer, fromMs)!
      return composed([
        wording.say('alwaysUp', { name, look: pointing(look) }),
        noteOn(set, reference, fromMs, context),
      ])
    }
    if (pass.highest.elevationDeg < options.elevationMinDeg) continue
    return composed([
      passWords(name, pass, context),
      noteOn(set, reference, pass.rise.wallMs, context),
    ])
  }
  if (lookAt(set, observer, fromMs) === undefined) return wording.say('noPass', { name })
  return wording.say('doesNotRise', {
    ...{ name, elevation: options.elevationMinDeg },
    ...{ place: placeText(reference, wording), span: spanText(day, context) },
  })
}

async function nextOfAll(
  sets: readonly ElementSet[],
  { observer, reference, fromMs, day }: From,
  context: ServiceContext,
  options: PassOptions,
): Promise<string | readonly string[]> {
  const { elevationMinDeg } = options
  const found = await nextRise(sets, observer, fromMs, elevationMinDeg)
  if (found === undefined) {
    const { say } = wordingOf(context)
    const span = day === undefined ? say('withinADay') : spanText(day, context)
    return say('noneRises', { count: sets.length, elevation: elevationMinDeg, span })
  }
  const { set, pass } = found
  return composed([
    passWords(shortName(set.name, 16), pass, context),
    noteOn(set, reference, pass.rise.wallMs, context),
  ])
}

function placeText({ of, thereWords }: Reference, { say }: Wording): string {
  if (of === 'place') return thereWords
  return say(of === 'asker' ? 'atYourPlace' : 'atTheNode')
}

function spanText(day: DayWanted | undefined, context: ServiceContext): string {
  const wording = wordingOf(context)
  if (day === undefined) return wording.say('within2Days')
  if (day.daysAhead <= 1) return wording.say(day.daysAhead === 1 ? 'tomorrow' : 'today')
  const offsetMinutes = offsetAtOf(context.node)(day.fromWallMs)
  return wording.say('onDay', { day: dayWords(day.fromWallMs, offsetMinutes, wording) })
}

/** `FIELDLARK rise 14:03 az310, top 14:09 el41 az32, set 14:14 az120`; the name is cut so that it fits one message. */
function passWords(name: string, pass: Pass, context: ServiceContext): string {
  const { node, clock } = context
  const wording = wordingOf(context)
  const { say } = wording
  const nowMs = clock.wallMs()
  const offsetAt = offsetAtOf(node)
  const at = (look: LookAtTime): string => clockWords(look.wallMs, offsetAt(look.wallMs))
  // Of the minute that is told: a rise in the last seconds of a day is told as 00:00 of the next.
  const dayOf = (wallMs: number): string =>
    isoDate(Math.round(wallMs / minuteMs) * minuteMs, offsetAt(wallMs))
  const { rise, highest, set } = pass
  const isToday = dayOf(rise.wallMs) === dayOf(nowMs)
  const isSoon = rise.wallMs - nowMs < 6 * dayMs
  const roundedMs = Math.round(rise.wallMs / minuteMs) * minuteMs
  const day = (isSoon ? weekdayWords : dayWords)(roundedMs, offsetAt(rise.wallMs), wording)
  const riseText =
    pass.upAtStart && rise.wallMs - nowMs < minuteMs
      ? say('upNow', { look: azimuth(rise) })
      : say('riseAt', { time: `${isToday ? '' : `${day} `}${at(rise)}`, look: azimuth(rise) })
  const top = say('topAt', { time: at(highest), look: pointing(highest) })
  const end = pass.upAtEnd ? say('upForDays') : say('setAt', { time: at(set), look: azimuth(set) })
  const isPast = pass.upAtStart && highest.wallMs <= nowMs
  const start = isPast ? say('upNow', { look: pointing(rise) }) : `${riseText}, ${top}`
  const words = `${start}, ${end}`
  return `${shortName(name, messageCharactersMax - words.length - 1)} ${words}`
}

/** Cut before its number, which tells one of a family from another: 'HARVES 2'. */
function shortName(name: string, charactersMax: number): string {
  if (name.length <= charactersMax) return name
  const number = /[ -]?\d{1,3}$/.exec(name)?.[0] ?? ''
  return `${name.slice(0, Math.max(1, charactersMax - number.length)).trim()}${number}`
}

const azimuth = (look: { azimuthDeg: number }): string => `az${Math.round(look.azimuthDeg) % 360}`
const pointing = (look: { azimuthDeg: number; elevationDeg: number }): string =>
  `el${Math.round(look.elevationDeg)} ${azimuth(look)}`

/** `Seen from you, UTC-2, az and el in degrees. Elements 3d old.` */
function noteOn(
  set: ElementSet,
  reference: Reference,
  wallMs: number,
  context: ServiceContext,
): string {
  const wording = wordingOf(context)
  const { say } = wording
  const from = reference.fromWords
  const zone = zoneWords(offsetAtOf(context.node)(wallMs))
  const age = ageWords(ageOf(set, context.clock.wallMs()), wording)
  const agedText = age === say('now') ? say('elementsNow') : say('elementsAge', { age })
  const noteBy = (source: string): string =>
    set.downlinkMHz === undefined
      ? say('seen', { from, zone, source })
      : say('seenDownlink', { mhz: set.downlinkMHz, from: capitalised(from), zone, source })
  if (!set.isInvented) return noteBy(agedText)
  const note = noteBy(say('invented'))
  return note.length <= messageCharactersMax ? note : noteBy(say('inventedShort'))
}
