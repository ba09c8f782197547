import { parseLocator } from '../../aprs/locator.js'
import { bandOf } from '../../regulations/amateurBands.js'
import type { OffsetAt } from '../../runtime/localTime.js'
import type { Wording } from '../../words/air/wording.js'
import { findStation, parseCall } from '../callWords.js'
import { isPosition } from '../geo/geodesic.js'
import type { PlaceIndex } from '../places/placeIndex.js'
import { type BandWanted, parseBand } from '../repeaters/bands.js'
import { eitherMode, type ModeWanted, parseMode } from '../repeaters/modeWanted.js'
import type { GeoPosition, ServiceContext } from '../service.js'
import { type DayWanted, readDay } from './days.js'
import { isCallWord, isLocatorWord } from './kinds.js'

/** A place that a question names, and what to call it in the answer. */
export interface PlaceWanted extends GeoPosition {
  readonly name: string
}

/** The arguments of a question by kind, in whatever order they came. */
export interface Arguments {
  readonly count?: number
  readonly isAll: boolean
  readonly isNext: boolean
  readonly isMe: boolean
  readonly isNode: boolean
  readonly band?: BandWanted
  readonly mode?: ModeWanted
  readonly call?: string
  readonly place?: PlaceWanted
  readonly day?: DayWanted
  /** runs of words that are none of these */
  readonly unknown: readonly string[]
}

export interface Known {
  /** the club's places; undefined where it has none */
  places(): PlaceIndex | undefined
}

type Found = { -readonly [key in keyof Arguments]: Arguments[key] }

const countWord = /^\d{1,3}$/
const units: readonly string[] = [
  'm',
  'cm',
  'mhz',
  'meter',
  'meters',
  'metre',
  'metres',
  'metri',
  'metros',
]

/**
 * Sorts the words of a question by kind. A number is a count, unless it can only be a band or a frequency; figures that are a date are
 * read as one where `dates` says so.
 */
export function readArguments(
  words: readonly string[],
  context: Pick<ServiceContext, 'clock' | 'node'>,
  { places }: Known = { places: () => undefined },
  { dates = false }: { readonly dates?: boolean } = {},
): Arguments {
  const found: Found = {
    ...{ isAll: false, isNext: false, isMe: false, isNode: false, unknown: [] },
  }
  const unknown: string[] = []
  let run: string[] = []
  const endRun = (): void => {
    if (run.length > 0) unknown.push(run.join(' '))
    run = []
  }
  for (let at = 0; at < words.length; ) {
    const length = take(words.slice(at), found, context, places(), dates)
    if (length === 0) run.push(words[at]!)
    else endRun()
    at += Math.max(1, length)
  }
  endRun()
  return { ...found, unknown }
}

/** @returns how many of the words it took */
function take(
  words: readonly string[],
  found: Found,
  context: Pick<ServiceContext, 'clock' | 'node'>,
  places: PlaceIndex | undefined,
  dates: boolean,
): number {
  const [first = '', second = ''] = words
  const word = first.toLowerCase()
  switch (word) {
    case 'all':
      found.isAll = true
      return 1
    case 'next':
      found.isNext = true
      return 1
    case 'me':
      found.isMe = true
      return 1
    case 'node':
      found.isNode = true
      return 1
    case 'here':
    case 'more':
    case 'hours':
      return 1
  }
  const date = readDay(words, context.clock.wallMs(), offsetAtOf(context.node))
  if (date !== undefined && (dates || !/^\d{1,2}[./]\d/.test(first))) {
    found.day ??= date.day
    return date.length
  }
  const coordinates = readCoordinates(first, second)
  if (coordinates !== undefined) {
    found.place ??= coordinates.place
    return coordinates.length
  }
  // What is meant as a date and is none must not be taken for a frequency or a count.
  if (dates && (dateFigures.test(first) || (countWord.test(first) && months.test(second)))) return 0
  const named = places?.find(words)
  if (named !== undefined && !(countWord.test(first) && first.length < 3)) {
    found.place ??= named.place
    return named.length
  }
  if (countWord.test(first)) return takeNumber(first, second.toLowerCase(), found)
  if (isLocatorWord(first)) {
    found.place ??= {
      name: first.slice(0, 4).toUpperCase() + first.slice(4).toLowerCase(),
      ...parseLocator(first)!.centre,
    }
    return 1
  }
  const band = parseBand(first)
  // '88.5' beside 'uhf' is a tone, by which nothing is looked for.
  if (band !== undefined && found.band !== undefined && isTone(first)) return 0
  if (band !== undefined) {
    found.band ??= band
    return units.includes(second.toLowerCase()) ? 2 : 1
  }
  const star = `${word}${second.toLowerCase()}` === 'dstar' ? 2 : 1
  const mode = parseMode(star === 2 ? 'dstar' : first)
  if (mode !== undefined) {
    found.mode = found.mode === undefined ? mode : eitherMode(found.mode, mode)
    return star
  }
  if (isCallWord(first)) {
    found.call ??= parseCall(first)!
    return 1
  }
  return 0
}

const isTone = (word: string): boolean =>
  /^\d{2,3}[.,]\d$/.test(word) && bandOf(Number(word.replace(',', '.'))) === undefined

/** A number up to this is a count in any case. */
const surelyCount = 27

function takeNumber(number: string, next: string, found: Found): number {
  if (units.includes(next)) {
    const unit = next.startsWith('c') ? 'cm' : next === 'mhz' ? 'mhz' : 'm'
    const band = parseBand(`${number}${unit}`)
    if (band !== undefined) {
      found.band ??= band
      return 2
    }
  }
  const value = Number(number)
  const band = value > surelyCount ? parseBand(number) : undefined
  // '440' and '52' are bands; '99' is none, and so a person's way to say many.
  if (band !== undefined && (number.length === 3 || !band.words.endsWith('MHz')))
    found.band ??= band
  else found.count ??= value
  return 1
}

/** The count among the words, without looking at the other kinds: 3 of '3 70cm', none of '440'. */
export function countAsked(words: readonly string[]): number | undefined {
  const found: Found = { isAll: false, isNext: false, isMe: false, isNode: false, unknown: [] }
  for (const [at, word] of words.entries())
    if (countWord.test(word) && !months.test(words[at + 1] ?? ''))
      takeNumber(word, (words[at + 1] ?? '').toLowerCase(), found)
  return found.count
}

const dateFigures = /^\d{1,2}[./]\d{1,2}$/
const months = /^(jan|feb|mar|apr|may|jun|jul|aug|sep|oct|nov|dec)$/

/** '45.2 -36.8', '45.2,-36.8', '45,2 N 36,8 W' is not read: two figures with a point, in range. */
function readCoordinates(
  first: string,
  second: string,
): { readonly place: PlaceWanted; readonly length: number } | undefined {
  const joined = /^([+-]?\d{1,2}\.\d+),([+-]?\d{1,3}\.\d+)$/.exec(first)
  const apart = /^[+-]?\d{1,2}\.\d+$/.test(first) && /^[+-]?\d{1,3}\.\d+$/.test(second)
  if (joined === null && !apart) return undefined
  const [latitudeDeg, longitudeDeg] = [Number(joined?.[1] ?? first), Number(joined?.[2] ?? second)]
  if (!isPosition(latitudeDeg, longitudeDeg)) return undefined
  const name = `${latitudeDeg.toFixed(2)},${longitudeDeg.toFixed(2)}`
  return { place: { name, latitudeDeg, longitudeDeg }, length: joined === null ? 2 : 1 }
}

/** Local time of the node, with its daylight saving where it knows the zone. */
export const offsetAtOf = (node: ServiceContext['node']): OffsetAt =>
  node.utcOffsetMinutesAt ?? (() => node.utcOffsetMinutes)

/** The place that is asked for: named, or where a named station is; undefined when none is asked for or known. */
export function placeAsked(
  { place, call }: Pick<Arguments, 'place' | 'call'>,
  { stations }: Pick<ServiceContext, 'stations'>,
): PlaceWanted | undefined {
  if (place !== undefined || call === undefined) return place
  const station = findStation(stations, call)
  return station?.position && { name: station.call, ...station.position }
}

/** What to say of words that were not understood: '"xyz" is not known here.' */
export const unknownText = (unknown: readonly string[], wording: Wording): string | undefined =>
  unknown.length === 0
    ? undefined
    : wording.say('unknown', { word: unknown.join(' ').slice(0, 24) })
