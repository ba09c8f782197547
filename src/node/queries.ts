import { directsReply, heardReply, traceReply } from '../aprs/queryReply.js'
import type { DirectedQueryPayload, QueryPayload } from '../aprs/types.js'
import { formatPath } from '../ax25/address.js'
import { wallAgeMs } from '../runtime/clockTrust.js'
import { airText } from '../services/airText.js'
import { geodesicBetween } from '../services/geo/geodesic.js'
import type { GeoPosition } from '../services/service.js'
import type { StationTable } from '../store/stations.js'
import type { Wording } from '../words/air/wording.js'
import type { Heard } from './intake.js'
import { nodeDestination } from './options.js'

/** What a query of the reference (chapter 15) asks the node to do. */
export type QueryReply =
  | { readonly kind: 'message'; readonly text: string }
  | { readonly kind: 'beacon'; readonly beacon: 'position' | 'status' | 'objects' | 'weather' }
  | { readonly kind: 'resend' }
  | { readonly kind: 'none'; readonly reason: string }

const directWithinMs = 3_600_000
const heardHours = 8

/** Who asks, by what way. */
type Asking = Pick<Heard, 'from' | 'destination'> & { readonly ax25: Pick<Heard['ax25'], 'path'> }

type Known = Pick<StationTable, 'recent' | 'hourlyCounts'>

interface Answering {
  /** our own */
  readonly call: string
  readonly stations: Known
  readonly wallMs: number
  readonly wording: Wording
}

/** A query to this station alone. */
export function directedReply(
  payload: DirectedQueryPayload,
  heard: Asking,
  node: Answering,
): QueryReply {
  switch (payload.query) {
    case 'APRSD':
      return { kind: 'message', text: directsText(heard.from, node) }
    case 'APRSH':
      return { kind: 'message', text: heardText(payload.target ?? '', node) }
    case 'APRSM':
      return { kind: 'resend' }
    case 'APRSO':
      return { kind: 'beacon', beacon: 'objects' }
    case 'APRSP':
      return { kind: 'beacon', beacon: 'position' }
    case 'APRSS':
      return { kind: 'beacon', beacon: 'status' }
    case 'APRST':
    case 'PING':
      return { kind: 'message', text: traceText(node.call, heard) }
    default:
      return { kind: 'none', reason: `no answer is defined to the query ${payload.query}` }
  }
}

/**
 * A query to everybody. ?IGATE? is for gateways, which we are not; ?WX? is for stations that measure weather, and for us where
 * we have an instrument (ch. 15). Reports that we heard from others are theirs to give; sent by us, they would be taken for
 * weather at our place.
 */
export function generalReply(
  payload: QueryPayload,
  position: GeoPosition | undefined,
  hasInstrument: boolean,
): readonly QueryReply[] {
  const { footprint } = payload
  if (footprint !== undefined) {
    if (position === undefined) return [{ kind: 'none', reason: 'our own position is not known' }]
    const awayKm = geodesicBetween(footprint, position).distanceM / 1000
    if (awayKm > footprint.radiusKm)
      return [{ kind: 'none', reason: 'we are outside the area asked' }]
  }
  if (payload.query === 'APRS') {
    return [
      { kind: 'beacon', beacon: 'position' },
      { kind: 'beacon', beacon: 'status' },
    ]
  }
  if (payload.query === 'WX' && hasInstrument) return [{ kind: 'beacon', beacon: 'weather' }]
  return [{ kind: 'none', reason: `the query ${payload.query} is for other kinds of stations` }]
}

/** Others heard without a digipeater in the last hour, newest first. */
function directsText(asker: string, { stations, wallMs, wording }: Answering): string {
  const directs = stations
    .recent(200)
    .filter(({ call, lastDirectWallMs }) => {
      const ageMs = lastDirectWallMs && wallAgeMs(lastDirectWallMs, wallMs)
      return call !== asker && ageMs !== undefined && ageMs <= directWithinMs
    })
    .map(({ call }) => call)
  return directs.length === 0 ? wording.say('noDirects') : directsReply(directs)
}

/** Frames in each of the last eight hours, this one first. */
function heardText(target: string, { stations, wallMs, wording }: Answering): string {
  const call = airText(target).toUpperCase().slice(0, 9)
  const counts = stations.hourlyCounts(call, heardHours, wallMs)
  return counts === undefined ? wording.say('notHeard', { call }) : heardReply(call, counts)
}

/** The way of the query, with our own call in front, as the reference prints it. */
function traceText(call: string, heard: Asking): string {
  const path = formatPath(heard.ax25.path)
  const header = `${call}>${heard.destination || nodeDestination}${path === '' ? '' : `,${path}`}`
  return traceReply(airText(header))
}
