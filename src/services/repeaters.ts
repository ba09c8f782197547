import { messageCharactersMax } from '../aprs/messageText.js'
import { inEnglish } from '../words/air/all.js'
import type { Wording } from '../words/air/wording.js'
import { fold } from './asking/fold.js'
import {
  type Arguments,
  countAsked,
  type Known,
  placeAsked,
  readArguments,
  unknownText,
} from './asking/readArguments.js'
import { composed, composedTightly } from './compose.js'
import { type Reference, referenceAsked, wayFromWords } from './geo/reference.js'
import { distanceWords } from './geo/words.js'
import { positionHint } from './positionHint.js'
import type { RepeaterIndex } from './repeaters/directory.js'
import { isOffered, type RepeaterEntry, repeaterWords } from './repeaters/entry.js'
import type { Service, ServiceContext } from './service.js'
import { wordingOf } from './wordingOf.js'

export interface RepeatersOptions {
  /** the directory as it is now; undefined when none is loaded */
  directory(): RepeaterIndex | undefined
  /** farther ones are of no use on a hand-held */
  readonly rangeM: number
  /** an asker's older position is not used */
  readonly positionAgeMaxMs: number
  readonly known?: Known
}

/** Those for members, and those off the air, are told to who asks for them. */
const closedWord = /^(closed|private|offair|geschlossen|ferme|cerrado|chiuso)$/i

const countDefault = 3
const countMax = 10

/** `repeaters N [band] [mode] [place]`: the nearest of the directory, one message each. */
export function repeatersService(options: RepeatersOptions): Service {
  return {
    keyword: 'repeaters',
    summary: 'Nearest repeaters: output, offset, tone, distance, direction',
    usage: 'repeaters N [band, mode, place]',
    messagesMax: ({ words }) => countOf(words) + 1,
    ready: () =>
      isEmpty(options.directory())
        ? {
            state: 'empty',
            reason: inEnglish.say('noDirectoryReason'),
            text: 'noDirectoryReason',
          }
        : { state: 'ready' },
    answer(question, context) {
      const directory = options.directory()
      if (directory === undefined || isEmpty(directory))
        return wordingOf(context).say('noDirectory')
      const words = question.words.filter((word) => !closedWord.test(word))
      const asked = {
        ...readArguments(words, context, options.known),
        isClosed: words.length < question.words.length,
      }
      const named = namedIn(directory, asked)
      const place = placeAsked(asked, context)
      const reference = referenceAsked(place, context, options.positionAgeMaxMs)
      const count = countOf(question.words)
      const near = nearestTo(asked, { count, reference, named }, directory, context, options)
      const note = named.size > 0 ? undefined : noteOn(asked, context)
      const hint = reference && positionHint(reference, asked.isNode, question, context)
      const notes = [note, hint].filter((one) => one !== undefined)
      if (typeof near === 'string') return notes.length === 0 ? near : composed([near, ...notes])
      // No more messages than without it, unless so many were asked for.
      const isCut = note !== undefined && asked.count === undefined
      const told = isCut ? near.slice(0, countDefault - 1) : near
      // 'Of you' is said of the first ones alone where it would take a message more.
      const from = ` ${reference?.words}`
      const formOf = (form: number): readonly string[] => [
        ...told.map((one, at) => (at < told.length - form ? one : withoutEnd(one, from))),
        ...notes,
      ]
      return composedTightly(formOf, told.length - 1, '; ')
    },
  }
}

const withoutEnd = (text: string, end: string): string =>
  text.endsWith(end) ? text.slice(0, text.length - end.length) : text

const isEmpty = (directory: RepeaterIndex | undefined): boolean =>
  directory === undefined || directory.entries.length + directory.placeless.length === 0

interface Search {
  readonly count: number
  readonly reference: Reference | undefined
  /** those that the question names; none where it names none */
  readonly named: ReadonlySet<RepeaterEntry>
}

function nearestTo(
  asked: Arguments & { readonly isClosed: boolean },
  { count, reference, named }: Search,
  directory: RepeaterIndex,
  context: ServiceContext,
  { rangeM }: RepeatersOptions,
): string | string[] {
  const { band, mode } = asked
  const { units } = context.node
  const wording = wordingOf(context)
  // One that is named is told wherever it is.
  if (named.size > 0 && reference === undefined)
    return [...named]
      .slice(0, count)
      .map((entry) => repeaterWords(entry, messageCharactersMax, wording))
  if (reference === undefined) return whereAreYou('repeaters', wording)
  const wanted = (entry: RepeaterEntry): boolean =>
    (named.size > 0 ? named.has(entry) : asked.isClosed || isOffered(entry)) &&
    (band?.includes(entry.outputMHz) ?? true) &&
    (mode?.includes(entry.mode) ?? true)
  const nearest = (most: number, of: typeof wanted) =>
    directory
      .nearest(reference.position, most, of)
      .filter(({ way }) => named.size > 0 || way.distanceM <= rangeM)
  // Of several modes the nearest of each is told, and which has none.
  const ofEach = (mode?.each ?? []).map((one) => ({
    one,
    found: nearest(1, (entry) => wanted(entry) && one.includes(entry.mode)),
  }))
  const first: readonly RepeaterEntry[] = ofEach.flatMap(({ found }) =>
    found.map(({ entry }) => entry),
  )
  const all = nearest(count, wanted)
  const rest = all.filter(({ entry }) => !first.includes(entry))
  const kept = new Set(
    [...first, ...rest.map(({ entry }) => entry)].slice(0, Math.max(count, first.length)),
  )
  const near = nearest(kept.size, (entry) => kept.has(entry)).map(({ entry, way }) =>
    withPlace(entry, wayFromWords(way, reference, units, wording), wording),
  )
  // A list of the club's own area may have no places at all.
  const others = directory.placeless
    .filter(wanted)
    .slice(0, count - near.length)
    .map((entry) => withPlace(entry, wording.say('placeNotKnown'), wording))
  const none = (modeWords: string | undefined): string => {
    const filter = [band?.words, modeWords].filter(Boolean).join(' ')
    return wording.say('noneNear', {
      kind: filter === '' ? wording.say('repeater') : wording.say('repeaterOf', { filter }),
      distance: distanceWords(rangeM, units, wording),
      place: reference.words,
    })
  }
  if (near.length + others.length === 0) return none(mode?.words)
  const isLacking = others.length === 0 && named.size === 0
  const lacking = ofEach.filter(({ found }) => isLacking && found.length === 0)
  return [...near, ...others, ...lacking.map(({ one }) => none(one.words))]
}

/** Repeaters of the call, or with the words in their name, that the question has; none where it has no such words. */
function namedIn(
  { entries, placeless }: RepeaterIndex,
  { call, unknown }: Arguments,
): ReadonlySet<RepeaterEntry> {
  const names = unknown.map(folded).filter((name) => name.length >= namedLettersMin)
  if (call === undefined && names.length === 0) return new Set()
  const isNamed = (entry: RepeaterEntry): boolean =>
    (call !== undefined && entry.call === call) ||
    names.some((name) => ` ${folded(entry.name)} `.includes(` ${name} `))
  return new Set([...entries, ...placeless].filter(isNamed))
}

const namedLettersMin = 3
const folded = (text: string): string =>
  fold(text)
    .replace(/[^\p{L}\p{N}]+/gu, ' ')
    .trim()

const withPlace = (entry: RepeaterEntry, place: string, wording: Wording): string =>
  `${repeaterWords(entry, messageCharactersMax - place.length - 1, wording)} ${place}`

/** Who is told nothing without a position can name a place or a locator just as well. */
export const whereAreYou = (asked: string, wording: Wording): string =>
  wording.say('whereAreYou', { example: `${asked} HN15pf` })

/** What of the question the answer leaves out. */
function noteOn(asked: Arguments, context: ServiceContext): string | undefined {
  if (asked.call !== undefined && placeAsked(asked, context) === undefined)
    return wordingOf(context).say('whereUnknown', { call: asked.call })
  return unknownText(asked.unknown, wordingOf(context))
}

/** As many as were asked for, 10 at most. */
function countOf(words: readonly string[]): number {
  if (words.some((word) => word.toLowerCase() === 'all')) return countMax
  const count = countAsked(words) ?? countDefault
  return Math.min(Math.max(1, count), countMax)
}
