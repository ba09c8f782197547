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
  context: Pick<ServiceContext, 'stations' | 'clock'>,
): string {
  const heard = heardText(from, context)
  if (sort === 'cancel') return 'Cancelled: nothing more is sent to you. To ask again: help'
  if (sort === 'thanks') return `You are welcome, ${from}${heard}. 73`
  return `Hello ${from}${heard}. What I know: send help`
}

function heardText(
  from: string,
  { stations, clock }: Pick<ServiceContext, 'stations' | 'clock'>,
): string {
  const [last] = stations.signals(from, 1)
  if (last !== undefined && Math.abs(clock.wallMs() - last.atWallMs) <= measuredWithinMs)
    return `, heard direct, Eb/N0 ${Math.round(last.quality.ebN0Db)} dB`
  const via = stations.find(from)?.via
  if (via === undefined) return ''
  return via.length === 0 || via[0] === 'direct' ? ', heard direct' : `, heard via ${via[0]}`
}
