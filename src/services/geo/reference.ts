import type { GeoPosition, ServiceContext } from '../service.js'
import { agoWords } from './words.js'

/** The place from which an answer measures. */
export interface Reference {
  readonly position: GeoPosition
  readonly of: 'asker' | 'node'
  /** for the end of a distance: 'of you', 'of you 3h ago', 'of node' */
  readonly words: string
}

/** An asker who has moved for this long is elsewhere; younger knowledge is not worth its letters. */
const saidFromMs = 30 * 60_000

/** The asker's own position while it is young enough, else the node's; undefined when neither is known. */
export function referenceOf(context: ServiceContext, ageMaxMs: number): Reference | undefined {
  const { askerPosition, node } = context
  if (askerPosition !== undefined && askerPosition.ageMs <= ageMaxMs) {
    const old = askerPosition.ageMs >= saidFromMs
    const words = old ? `of you ${agoWords(askerPosition.ageMs)}` : 'of you'
    return { position: askerPosition, of: 'asker', words }
  }
  if (node.position === undefined) return undefined
  return { position: node.position, of: 'node', words: 'of node' }
}
