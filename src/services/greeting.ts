import { airTextsOf } from '../words/air/all.js'
import type { AirTexts } from '../words/air/texts.js'
import type { ServiceContext } from './service.js'

/** Measurements of a station are of the greeting itself while they are that young. */
const measuredWithinMs = 60_000

/**
 * A short friendly word to who greets, tries, thanks or takes leave, with how it was heard where that was measured:
 * 'Hello N0CALL-7, heard direct, Eb/N0 21 dB. Ask me: help'.
 */
export function greetingText(
  sort: 'hello' | 'thanks' | 'cancel',
  from: string,
  context: Pick<ServiceContext, 'stations' | 'clock' | 'language'>,
): string {
  const texts = airTextsOf(context.language)
  const heard = heardText(from, context, texts)
  if (sort === 'cancel') return texts.cancelled
  return sort === 'thanks' ? texts.thanks(from, heard) : texts.hello(from, heard)
}

function heardText(
  from: string,
  { stations, clock }: Pick<ServiceContext, 'stations' | 'clock'>,
  texts: AirTexts,
): string {
  const [last] = stations.signals(from, 1)
  if (last !== undefined && Math.abs(clock.wallMs() - last.atWallMs) <= measuredWithinMs)
    return texts.heardDirectWith(Math.round(last.quality.ebN0Db))
  const via = stations.find(from)?.via
  if (via === undefined) return ''
  return via.length === 0 || via[0] === 'direct' ? texts.heardDirect : texts.heardVia(via[0]!)
}
