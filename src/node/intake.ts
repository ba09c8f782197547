import { parsePayload } from '../aprs/parse.js'
import type { AprsPayload } from '../aprs/types.js'
import { formatAddress, isWellFormed, parseAddress } from '../ax25/address.js'
import { type Ax25Frame, decodeFrame } from '../ax25/frame.js'
import { pidNoLayer3 } from '../ax25/protocol.js'
import type { HeardFrame } from '../radio/port.js'
import { repeatedVia } from './replyPath.js'

/** A frame, taken apart as far as the node needs. */
export interface Heard {
  readonly frame: HeardFrame
  readonly ax25: Ax25Frame
  /** who is on the air */
  readonly source: string
  /** who speaks: differs from source in a third-party frame */
  readonly from: string
  /** digipeaters that repeated it, first to last; '?' for one that has no call sign */
  readonly via: readonly string[]
  readonly destination: string
  readonly payload: AprsPayload
  readonly thirdParty: boolean
}

export type Intake =
  | { readonly ok: true; readonly heard: Heard }
  /** `source` where at least the addresses could be read */
  | { readonly ok: false; readonly reason: string; readonly source?: string }

/** Layers of third-party headers that are opened; more is nonsense or malice. */
const thirdPartyDepthMax = 2

export function readHeard(frame: HeardFrame): Intake {
  const decoded = decodeFrame(frame.octets)
  if (!decoded.ok) return { ok: false, reason: decoded.reason }
  const ax25 = decoded.frame
  const source = formatAddress(ax25.source)
  if (!isWellFormed(ax25.source))
    return { ok: false, reason: `'${source}' is not a call sign`, source }
  if (ax25.control.type !== 'UI') {
    return { ok: false, reason: `a frame of a connection (${ax25.control.type})`, source }
  }
  if (ax25.pid !== pidNoLayer3) {
    return { ok: false, reason: 'a frame of another protocol', source }
  }
  const destination = formatAddress(ax25.destination)
  const outer = parsePayload(ax25.payload, destination)
  const inner = innermost(source, outer)
  if (!inner.ok) return { ok: false, reason: inner.reason, source }
  return {
    ok: true,
    heard: {
      frame,
      ax25,
      source,
      from: inner.from,
      via: repeatedVia(ax25.path),
      destination,
      payload: inner.payload,
      thirdParty: outer.kind === 'thirdParty',
    },
  }
}

function innermost(
  source: string,
  outer: AprsPayload,
): { ok: true; from: string; payload: AprsPayload } | { ok: false; reason: string } {
  let from = source
  let payload = outer
  for (let depth = 0; payload.kind === 'thirdParty'; depth++) {
    if (depth === thirdPartyDepthMax) return { ok: false, reason: 'third-party headers in a heap' }
    const address = parseAddress(payload.source)
    if (!address.ok) return { ok: false, reason: `third party: ${address.reason}` }
    from = formatAddress(address.value)
    payload = payload.payload
  }
  return { ok: true, from, payload }
}
