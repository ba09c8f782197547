import { positionOf } from '../aprs/parse.js'
import { readHeard } from '../node/intake.js'
import type { Clock } from '../runtime/clock.js'
import type { FrameRecord } from '../store/frames.js'
import { inParts } from './inParts.js'

const framesAtOnce = 500

/**
 * Where the node hears from: each position that a station sent and the node heard directly, with the signal of that very
 * frame, as GeoJSON (RFC 7946), oldest first. What came through a digipeater tells the digipeater's signal and is left out.
 */
export async function coverageGeoJson(
  frames: readonly FrameRecord[],
  clock: Clock,
): Promise<string> {
  const features = await inParts(frames, framesAtOnce, clock, (frame) => {
    const read = readHeard({ ...frame, heardAtMs: 0 })
    if (!read.ok || read.heard.thirdParty || read.heard.via.length > 0) return []
    const position = positionOf(read.heard.payload)
    if (position === undefined) return []
    const { levelDbfs, ebN0Db, toneBalanceDb } = frame.quality ?? {}
    return [
      {
        type: 'Feature',
        geometry: { type: 'Point', coordinates: [position.longitudeDeg, position.latitudeDeg] },
        properties: {
          ...{ call: read.heard.source, heard: new Date(frame.heardAtWallMs).toISOString() },
          ...{ radio: frame.radio, repairedBits: frame.repairedBits },
          ...{ ambiguityDigits: position.ambiguityDigits, levelDbfs, ebN0Db, toneBalanceDb },
        },
      },
    ]
  })
  return JSON.stringify({ type: 'FeatureCollection', features })
}
