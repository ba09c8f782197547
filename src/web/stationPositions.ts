import { locatorOf } from '../aprs/locator.js'
import { positionOf } from '../aprs/parse.js'
import { readHeard } from '../node/intake.js'
import { geodesicBetween } from '../services/geo/geodesic.js'
import { inParts } from './inParts.js'
import type { PageParts } from './parts.js'
import type { StationPosition } from './schemas.js'

/** The newest so many of its frames are read, and so many of its places shown. */
const framesMax = 2000
const placesMax = 60
const framesAtOnce = 200

/** Where a station was in the days that are kept, newest first. What it sent from one and the same place in a row is one line. */
export async function stationPositions(
  { store, node, clock }: PageParts,
  call: string,
): Promise<StationPosition[]> {
  const from = node.state().position
  const frames = store.frames.query({ source: call.toUpperCase(), limit: framesMax }).reverse()
  const heard = await inParts(frames, framesAtOnce, clock, (frame) => {
    const read = readHeard({ ...frame, heardAtMs: 0 })
    if (!read.ok || read.heard.thirdParty) return []
    const position = positionOf(read.heard.payload)
    if (position === undefined) return []
    return [{ position, atWallMs: frame.heardAtWallMs, isDirect: read.heard.via.length === 0 }]
  })
  const places: StationPosition[] = []
  for (const { position, atWallMs, isDirect } of heard) {
    const { latitudeDeg, longitudeDeg } = position
    const last = places.at(-1)
    if (last?.latitudeDeg === latitudeDeg && last.longitudeDeg === longitudeDeg) {
      places[places.length - 1] = {
        ...{ ...last, fromWallMs: atWallMs, count: last.count + 1 },
        isDirect: last.isDirect || isDirect,
      }
      continue
    }
    if (places.length === placesMax) break
    const way = from && geodesicBetween(from, position)
    places.push({
      ...{ latitudeDeg, longitudeDeg, locator: locatorOf(position) },
      ...(way && { distanceKm: way.distanceM / 1000, bearingDeg: way.bearingDeg }),
      ...{ fromWallMs: atWallMs, toWallMs: atWallMs, count: 1, isDirect },
    })
  }
  return places
}
