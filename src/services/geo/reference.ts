import type { Wording } from '../../words/air/wording.js'
import type { PlaceWanted } from '../asking/readArguments.js'
import type { GeoPosition, ServiceContext } from '../service.js'
import { wordingOf } from '../wordingOf.js'
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
  /** for what is seen: 'from you', 'from node' */
  readonly fromWords: string
  /** for what happens there: 'at you', 'at node' */
  readonly atWords: string
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
  const { say } = wordingOf(context)
  const named = { place: place.name.slice(0, 20).trim() }
  const [words, thereWords] = [say('ofPlace', named), say('atPlace', named)]
  const fromWords = say('fromPlace', named)
  return { position: place, of: 'place', words, thereWords, fromWords, atWords: thereWords }
}

/** The asker's own position while it is young enough, else the node's; undefined when neither is known. */
export function referenceOf(context: ServiceContext, ageMaxMs: number): Reference | undefined {
  const { askerPosition, node } = context
  const wording = wordingOf(context)
  const { say } = wording
  if (askerPosition !== undefined && askerPosition.ageMs <= ageMaxMs) {
    const isOld = askerPosition.ageMs >= saidFromMs
    const ago = { ago: agoWords(askerPosition.ageMs, wording) }
    return {
      ...{ position: askerPosition, of: 'asker', atWords: say('atYou') },
      words: isOld ? say('ofYouAgo', ago) : say('ofYou'),
      thereWords: isOld ? say('besideYouAgo', ago) : say('besideYou'),
      fromWords: isOld ? say('fromYouAgo', ago) : say('fromYou'),
    }
  }
  if (node.position === undefined) return undefined
  return {
    ...{ position: node.position, of: 'node', words: say('ofNode') },
    ...{ thereWords: say('atTheNode'), fromWords: say('fromNode'), atWords: say('atNode') },
  }
}

/** Positions on the air come in steps of 0.01 minute, up to 18.5 m: what is nearer may as well be in the same place. */
const sameM = 20

export const isThere = (way: GreatWay): boolean => way.distanceM < sameM

/** '12km NE of you'; 'beside you' without a distance that means nothing. */
export const wayFromWords = (
  way: GreatWay,
  from: Reference,
  units: DistanceUnits,
  wording: Wording,
): string => (isThere(way) ? from.thereWords : `${wayWords(way, units, wording)} ${from.words}`)
