import { locatorOf } from '../aprs/locator.js'
import { findStation, parseCall } from './callWords.js'
import { geodesicBetween } from './geo/geodesic.js'
import { isThere, referenceOf, wayFromWords } from './geo/reference.js'
import { agoWords } from './geo/words.js'
import type { GeoPosition, Service, ServiceContext } from './service.js'

export interface WhereOptions {
  readonly positionAgeMaxMs: number
}

/** `where CALL`: distance and bearing from the asker, locator, and how old that is. */
export function whereService(options: WhereOptions): Service {
  return {
    keyword: 'where',
    summary: 'Where a station is: distance, bearing, locator, age',
    usage: 'where CALL',
    messagesMax: () => 2,
    answer(question, context) {
      const word = question.words[0]
      if (word === undefined) return 'Where is who? Send e.g. where N0CALL-7'
      const call = parseCall(word)
      if (call === undefined) return `"${word.slice(0, 12)}" is not a call sign. Send where CALL`
      const { node } = context
      if (call === node.call || call === node.call.replace(/-\d+$/, '')) {
        if (node.position === undefined) return `${node.call} has no position set.`
        return placeWords(node.call, node.position, node.positionSource, context, options)
      }
      const station = findStation(context.stations, call)
      if (station === undefined) return `${call} was not heard here.`
      if (station.position === undefined) {
        const ago = agoWords(context.clock.wallMs() - station.lastHeardWallMs)
        return `${station.call} has sent no position. Heard ${ago}.`
      }
      const ago = agoWords(context.clock.wallMs() - station.position.atWallMs)
      return placeWords(station.call, station.position, ago, context, options)
    },
  }
}

/** `Q1KIT-9: 12km NE of you, bearing 47, IK25mf, 12min ago`. */
function placeWords(
  call: string,
  position: GeoPosition,
  since: string,
  context: ServiceContext,
  options: WhereOptions,
): string {
  const parts: string[] = []
  const reference = referenceOf(context, options.positionAgeMaxMs)
  // The node's own place is nothing to measure from when it is the node that is asked for.
  if (reference !== undefined && reference.position !== position) {
    const way = geodesicBetween(reference.position, position)
    parts.push(wayFromWords(way, reference, context.node.units))
    if (!isThere(way)) parts.push(`bearing ${Math.round(way.bearingDeg) % 360}`)
  }
  parts.push(locatorOf(position), since)
  return `${call}: ${parts.join(', ')}`
}
