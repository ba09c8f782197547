import { locatorOf } from '../aprs/locator.js'
import { type Known, type PlaceWanted, readArguments, unknownText } from './asking/readArguments.js'
import { findStation, parseCall } from './callWords.js'
import { geodesicBetween } from './geo/geodesic.js'
import { isThere, referenceOf, wayFromWords } from './geo/reference.js'
import { agoWords, wayWords } from './geo/words.js'
import type { GeoPosition, Service, ServiceContext } from './service.js'
import { wordingOf } from './wordingOf.js'

export interface WhereOptions {
  readonly positionAgeMaxMs: number
  readonly known?: Known
}

/** `where CALL`: distance and bearing from the asker, locator, and how old that is; `where me`, `where PLACE`. */
export function whereService(options: WhereOptions): Service {
  return {
    keyword: 'where',
    summary: 'Where a station is: distance, bearing, locator, age',
    usage: 'where CALL',
    messagesMax: () => 2,
    recognises: (words) => options.known?.places()?.find(words)?.length === words.length,
    answer({ words, from }, context) {
      const asked = readArguments(words, context, options.known)
      const call = asked.call ?? (words.length === 1 ? parseCall(words[0]!) : undefined)
      if (asked.place !== undefined) return ofPlace(asked.place, context, options)
      if (call !== undefined) return ofStation(call, context, options)
      const wording = wordingOf(context)
      // 'Ich hab mich verlaufen', 'wer hat dich gebaut': who is lost is told where, whatever else is said.
      const isPlain = !asked.unknown.some((word) => /\d/.test(word))
      if (asked.isMe && isPlain) return ofAsker(from, context, options)
      if (asked.isNode && isPlain) return ofStation(context.node.call, context, options)
      if (asked.unknown.length > 0)
        return `${unknownText(asked.unknown, wording)!} ${wording.say('whereSend')}`
      if (asked.isNode && !asked.isMe) return ofStation(context.node.call, context, options)
      return asked.isMe ? ofAsker(from, context, options) : wording.say('whereWho')
    },
  }
}

function ofStation(call: string, context: ServiceContext, options: WhereOptions): string {
  const { node } = context
  const wording = wordingOf(context)
  if (call === node.call || call === node.call.replace(/-\d+$/, '')) {
    if (node.position === undefined) return wording.say('noPositionSet', { call: node.call })
    const { positionSource: source } = node
    const since = source === 'config' ? undefined : wording.say('bySource', { source })
    return placeWords(node.call, node.position, since, context, options)
  }
  const station = findStation(context.stations, call)
  if (station === undefined) return wording.say('notHeard', { call })
  if (station.position === undefined) {
    const ago = agoWords(context.clock.wallMs() - station.lastHeardWallMs, wording)
    return wording.say('noPositionSent', { call: station.call, ago })
  }
  const ago = agoWords(context.clock.wallMs() - station.position.atWallMs, wording)
  return placeWords(station.call, station.position, ago, context, options)
}

function ofPlace(place: PlaceWanted, context: ServiceContext, options: WhereOptions): string {
  return placeWords(place.name.slice(0, 20), place, undefined, context, options)
}

/** Where the asker was heard, from the node and from the nearest place. */
function ofAsker(from: string, context: ServiceContext, options: WhereOptions): string {
  const { askerPosition, node } = context
  const wording = wordingOf(context)
  const { say } = wording
  if (askerPosition === undefined) return say('noPositionOfYou', { call: from })
  const ago = agoWords(askerPosition.ageMs, wording)
  const parts = [locatorOf(askerPosition), say('heardAgo', { ago })]
  const wayTo = (place: string, position: GeoPosition): string => {
    const way = geodesicBetween(position, askerPosition)
    return `${wayWords(way, node.units, wording)} ${say('ofPlace', { place })}`
  }
  if (node.position !== undefined) parts.push(wayTo(node.call, node.position))
  const [near] = options.known?.places()?.near.nearest(askerPosition, 1) ?? []
  if (near !== undefined) parts.push(wayTo(near.entry.name.slice(0, 20), near.entry))
  return say('youAre', { place: parts.join(', ') })
}

/** `Q1KIT-9: 12km NE of you, bearing 47deg, IK25mf, 12min ago`. */
function placeWords(
  call: string,
  position: GeoPosition,
  since: string | undefined,
  context: ServiceContext,
  options: WhereOptions,
): string {
  const parts: string[] = []
  const wording = wordingOf(context)
  const reference = referenceOf(context, options.positionAgeMaxMs)
  // The node's own place is nothing to measure from when it is the node that is asked for.
  if (reference !== undefined && reference.position !== position) {
    const way = geodesicBetween(reference.position, position)
    parts.push(wayFromWords(way, reference, context.node.units, wording))
    if (!isThere(way))
      parts.push(wording.say('bearing', { degrees: Math.round(way.bearingDeg) % 360 }))
  }
  parts.push(locatorOf(position), ...(since === undefined ? [] : [since]))
  return `${call}: ${parts.join(', ')}`
}
