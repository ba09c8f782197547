import { isRecord } from '../runtime/isRecord.js'
import { countAsked } from './asking/readArguments.js'
import { composedAsSent } from './compose.js'
import { geodesicBetween, isKeptPosition } from './geo/geodesic.js'
import { referenceOf, wayFromWords } from './geo/reference.js'
import { ageWords } from './geo/words.js'
import { recordsIn } from './recordsIn.js'
import type { GeoPosition, Service, ServiceContext } from './service.js'
import { wordingOf } from './wordingOf.js'

/** Where the node keeps what it heard; not an own service's keyword. */
export const bulletinRecords = '(bulletins)'
export const objectRecords = '(objects)'

export interface BulletinRecord {
  readonly from: string
  readonly atWallMs: number
  readonly text: string
  readonly group?: string
}

export interface ObjectRecord extends GeoPosition {
  readonly from: string
  readonly atWallMs: number
  /** its comment */
  readonly text: string
}

/** What a row may hold: one of another version, or a damaged one, has another shape. */
export const bulletinKind = {
  expected: 'a bulletin that was heard',
  isOne: (value: unknown): value is BulletinRecord =>
    isHeard(value) && (value.group === undefined || typeof value.group === 'string'),
}
export const objectKind = {
  expected: 'an object that was heard',
  isOne: (value: unknown): value is ObjectRecord => isHeard(value) && isKeptPosition(value),
}

const isHeard = (value: unknown): value is Readonly<Record<string, unknown>> =>
  isRecord(value) &&
  typeof value.from === 'string' &&
  Number.isFinite(value.atWallMs) &&
  typeof value.text === 'string'

export interface BulletinsOptions {
  readonly positionAgeMaxMs: number
}

const ageMaxMs = 24 * 3_600_000
const shownDefault = 3
const shownMax = 9

/** `bulletins`: what others tell everybody on this channel; `bulletins objects`: what they have put on the map. */
export function bulletinsService(options: BulletinsOptions): Service {
  return {
    keyword: 'bulletins',
    summary: 'Bulletins heard from others; bulletins objects: things on the map',
    usage: 'bulletins [N, GROUP or objects]',
    messagesMax: ({ words }) => shownOf(words),
    answer({ words }, context) {
      const others = words.map((word) => word.toLowerCase())
      if (others.includes('objects')) return objectsText(context, options, shownOf(words))
      const wanted = words.find((word) => /\D/.test(word))?.toUpperCase()
      const heard = [...heardFrom(context), ...postedHere(context)].sort(
        (a, b) => b.atWallMs - a.atWallMs,
      )
      const groups = [...new Set(heard.flatMap(({ group }) => group ?? []))]
      const ofGroup = groups.some((group) => group.toUpperCase() === wanted)
      const told = ofGroup ? heard.filter(({ group }) => group?.toUpperCase() === wanted) : heard
      const wording = wordingOf(context)
      if (told.length === 0) return wording.say('noBulletins')
      return composedAsSent(
        told.slice(0, shownOf(words)).map(({ from, atWallMs, text, group }) => {
          const isPlain = group === undefined || ofGroup
          const who = isPlain ? from : wording.say('toGroup', { call: from, group })
          return `${who} ${ageWords(context.clock.wallMs() - atWallMs, wording)}: ${text}`
        }),
      )
    },
  }
}

const heardFrom = (context: ServiceContext): readonly BulletinRecord[] =>
  recordsOf(bulletinRecords, bulletinKind, context).map(([, one]) => one)

/** The node's own notices go out as bulletins, too. */
const postedHere = ({ notices }: ServiceContext): readonly BulletinRecord[] =>
  notices.recent(shownMax).map(({ from, text, postedWallMs }) => ({
    ...{ from, text, atWallMs: postedWallMs },
  }))

function objectsText(context: ServiceContext, options: BulletinsOptions, count: number) {
  const all = recordsOf(objectRecords, objectKind, context)
  const wording = wordingOf(context)
  if (all.length === 0) return wording.say('noObjects')
  const reference = referenceOf(context, options.positionAgeMaxMs)
  const placed = all.map(([name, one]) => {
    const way = reference && geodesicBetween(reference.position, one)
    return { name, one, way }
  })
  const near = placed.sort((a, b) => (a.way?.distanceM ?? 0) - (b.way?.distanceM ?? 0))
  return composedAsSent(
    near.slice(0, count).map(({ name, one, way }) => {
      const { units } = context.node
      const place = way && reference ? ` ${wayFromWords(way, reference, units, wording)}` : ''
      const age = ageWords(context.clock.wallMs() - one.atWallMs, wording)
      return `${name}${place}, ${age}${one.text === '' ? '' : `: ${one.text}`}`
    }),
  )
}

/** Those of the last day, newest first; what cannot be read is left out. */
function recordsOf<T extends { readonly atWallMs: number }>(
  records: string,
  { isOne }: { readonly isOne: (value: unknown) => value is T },
  { storage, clock }: ServiceContext,
): [string, T][] {
  const nowMs = clock.wallMs()
  return (
    recordsIn(storage.read(records), isOne)
      // What was kept while the clock was ahead is as little of this day as what is old.
      .filter(([, { atWallMs }]) => Math.abs(nowMs - atWallMs) <= ageMaxMs)
      .sort(([, a], [, b]) => b.atWallMs - a.atWallMs)
  )
}

function shownOf(words: readonly string[]): number {
  if (words.some((word) => word.toLowerCase() === 'all')) return shownMax
  return Math.min(Math.max(1, countAsked(words) ?? shownDefault), shownMax)
}
