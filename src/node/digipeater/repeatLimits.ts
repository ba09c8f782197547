import { parsePayload } from '../../aprs/parse.js'
import { formatAddress } from '../../ax25/address.js'
import type { Ax25Frame } from '../../ax25/frame.js'
import { pidNoLayer3 } from '../../ax25/protocol.js'
import { callIsListed } from '../addressing.js'
import { rateLimit } from '../rateLimit.js'
import { carriesOurs } from './repeatRules.js'

/** What the licensee does not want repeated, although a digipeater might. */
export interface RepeatLimits {
  /** stations that are not repeated: calls with SSID, or without for every SSID */
  readonly ignored: readonly string[]
  /** kinds of payload that are not repeated */
  readonly skip: readonly string[]
  /** stations known to be farther away are not repeated; those of unknown place are */
  readonly withinM?: number | undefined
  readonly perStationPerMinute: number
  readonly perMinute: number
}

const minuteMs = 60_000

/**
 * @param own our call with SSID
 * @param distanceM how far away a station is, as far as it is known
 */
export function repeatLimits(
  limits: RepeatLimits,
  own: string,
  distanceM: (call: string) => number | undefined,
) {
  const perStation = rateLimit(minuteMs)
  const overall = rateLimit(minuteMs, 1)
  const { withinM } = limits
  return {
    /** @returns why this frame is not repeated at all */
    whyNot(frame: Ax25Frame, source: string): string | undefined {
      if (callIsListed(source, limits.ignored))
        return 'its station is on the list of those left out'
      if (withinM !== undefined && (distanceM(source) ?? 0) > withinM)
        return 'its station is too far away'
      if (frame.control.type !== 'UI' || frame.pid !== pidNoLayer3) return undefined
      if (carriesOurs(frame.payload, own)) return 'a third-party frame that we were part of'
      const { kind } = parsePayload(frame.payload, formatAddress(frame.destination))
      return limits.skip.includes(kind) ? `frames of this kind are left out (${kind})` : undefined
    },
    /** Notes one more. @returns why it is one too many */
    note(source: string, nowMs: number): string | undefined {
      if (overall.count('', nowMs) >= limits.perMinute)
        return 'more frames a minute than are repeated'
      if (perStation.count(source, nowMs) >= limits.perStationPerMinute)
        return 'more frames a minute of one station than are repeated'
      overall.note('', nowMs)
      perStation.note(source, nowMs)
      return undefined
    },
  }
}
