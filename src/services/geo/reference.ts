import type { PlaceWanted } from '../asking/readArguments.js'
import type { GeoPosition, ServiceContext } from '../service.js'
import type { GreatWay } from './geodesic.js'
import { agoWords, type DistanceUnits, wayWords } from './words.js'

/** The place from which an answer measures. */
export interface Reference {
  readonly position: GeoPosition
  readonly of: 'asker' | 'node' | 'place'
  /** for the end of a distance: 'of you', 'of you 3h ago', 'of node' */
  readonly words: string
  /** in place of a distance, for what is there too: 'beside you', 'beside you 3h ago', 'at the node' */
  readonly thereWords: string
}

/** An asker who has moved for this long is elsewhere; younger knowledge is not worth its letters. */
const saidFromMs = 30 * 60_000

/** A place that was asked for, else where the asker is, else the node. */
export function referenceAsked(
  place: PlaceWanted | undefined,
  context: ServiceContext,
  ageMaxMs: number,
): Reference | undefined {
  if (place === undefined) return referenceOf(context, ageMaxMs)
  const name = place.name.slice(0, 20).trim()
  return { position: place, of: 'place', words: `of ${name}`, thereWords: `at ${name}` }
}

/** The asker's own position while it is young enough, else the node's; undefined when neither is known. */
export function referenceOf(context: ServiceContext, ageMaxMs: number): Reference | undefined {
  const { askerPosition, node } = context
  if (askerPosition !== undefined && askerPosition.ageMs <= ageMaxMs) {
    const old = askerPosition.ageMs >= saidFromMs
    const you = old ? `you ${agoWords(askerPosition.ageMs)}` : 'you'
    const [words, thereWords] = [`of ${you}`, `beside ${you}`]
    return { position: askerPosition, of: 'asker', words, thereWords }
  }
  if (node.position === undefined) return undefined
  return { position: node.position, of: 'node', words: 'of node', thereWords: 'at the node' }
}

/** Positions on the air come in steps of 0.01 minute, up to 18.5 m: what is nearer may as well be in the same place. */
const sameM = 20

export const isThere = (way: GreatWay): boolean => way.distanceM < sameM

/** '12km NE of you'; 'beside you' without a distance that means nothing. */
export const wayFromWords = (way: GreatWay, from: Reference, units: DistanceUnits): string =>
  isThere(way) ? from.thereWords : `${wayWords(way, units)} ${from.words}`
