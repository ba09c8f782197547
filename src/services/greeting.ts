import type { Wording } from '../words/air/wording.js'
import type { ServiceContext } from './service.js'
import { wordingOf } from './wordingOf.js'

/** Measurements of a station are of the greeting itself while they are that young. */
const measuredWithinMs = 60_000

/**
 * A short friendly word to who greets, tries, thanks or takes leave, with how it was heard where that was measured:
 * 'Hello N0CALL-7, heard direct, Eb/N0 21 dB. Ask me: help'.
 */
export function greetingText(
  sort: 'hello' | 'thanks' | 'cancel',
  from: string,
  context: Pick<ServiceContext, 'stations' | 'clock' | 'language' | 'wordings'>,
): string {
  const wording = wordingOf(context)
  if (sort === 'cancel') return wording.say('cancelled')
  return wording.say(sort, { call: from, heard: heardText(from, context, wording) })
}

function heardText(
  from: string,
  { stations, clock }: Pick<ServiceContext, 'stations' | 'clock'>,
  { say }: Wording,
): string {
  const [last] = stations.signals(from, 1)
  if (last !== undefined && Math.abs(clock.wallMs() - last.atWallMs) <= measuredWithinMs)
    return say('heardDirectWith', { ebN0: Math.round(last.quality.ebN0Db) })
  const via = stations.find(from)?.via
  if (via === undefined) return ''
  return via.length === 0 || via[0] === 'direct'
    ? say('heardDirect')
    : say('heardVia', { via: via[0]! })
}
