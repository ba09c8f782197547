import type { Reference } from './geo/reference.js'
import type { Question, ServiceContext } from './service.js'
import { wordingOf } from './wordingOf.js'

/** Not an own service's keyword: its records are those of the node itself. */
const recordsOf = '(position)'
/** Who was told longest ago makes room. */
const toldMax = 500

/**
 * Who asks without a known position is answered from the node's, and told once to send one.
 * @param isPlaceAsked true for a question that names its place
 */
export function positionHint(
  reference: Reference,
  isPlaceAsked: boolean,
  { from }: Pick<Question, 'from'>,
  context: Pick<ServiceContext, 'storage' | 'clock' | 'language' | 'wordings'>,
): string | undefined {
  const { storage, clock } = context
  if (reference.of !== 'node' || isPlaceAsked) return undefined
  const told = storage.read(recordsOf)
  if (told.has(from)) return undefined
  const changes = new Map<string, string | undefined>([[from, String(clock.wallMs())]])
  if (told.size >= toldMax) {
    const [oldest] = [...told].sort(([, a], [, b]) => Number(a) - Number(b))
    if (oldest !== undefined) changes.set(oldest[0], undefined)
  }
  storage.write(recordsOf, changes)
  return wordingOf(context).say('sendPosition')
}
