import { parseNmeaSentence } from 'nmea-simple'
import type { Clock } from '../runtime/clock.js'
import type { GeoPosition } from '../services/service.js'

/** What a GPS says, and how fresh that is. */
export interface GpsState {
  /** while it has a fix that is not older than fixAgeMaxMs */
  readonly position: GeoPosition | undefined
  readonly heightM: number | undefined
  readonly satellites: number | undefined
  /** how far the machine's clock lies behind (positive) or ahead of GPS time, in ms; a serial line adds up to a second */
  readonly clockBehindMs: number | undefined
  readonly lineCount: number
  /** lines whose check sum or form was wrong */
  readonly badLineCount: number
}

/** Takes the lines of NMEA 0183 as they come from a serial line. */
export interface Gps {
  line(text: string): void
  state(): GpsState
}

const fixAgeMaxMs = 10_000
const clockAgeMaxMs = 60_000
/** Longer is no NMEA sentence: 82 characters by the standard, some receivers send a little more. */
const lineCharactersMax = 120

export function createGps(clock: Clock): Gps {
  let fix: (GeoPosition & { atMs: number }) | undefined
  let heightM: number | undefined
  let satellites: number | undefined
  let clockSeen: { behindMs: number; atMs: number } | undefined
  let lineCount = 0
  let badLineCount = 0

  /** @param fields as the sentence has them: the parser takes an empty one for 0, which is a place, and a height */
  const placed = (
    fields: readonly (string | undefined)[],
    latitudeDeg: number,
    longitudeDeg: number,
  ): void => {
    if (fields.includes('')) return
    if (!(Math.abs(latitudeDeg) <= 90 && Math.abs(longitudeDeg) <= 180)) return
    fix = { latitudeDeg, longitudeDeg, atMs: clock.monotonicMs() }
  }

  const read = (text: string): void => {
    const packet = parseNmeaSentence(text)
    const fields = text.split(',')
    if (packet.sentenceId === 'GGA') {
      if (packet.fixType === 'none') return
      placed([fields[2], fields[4]], packet.latitude, packet.longitude)
      const isHeight = fields[9] !== '' && Number.isFinite(packet.altitudeMeters)
      if (isHeight) heightM = packet.altitudeMeters
      satellites = packet.satellitesInView
    } else if (packet.sentenceId === 'RMC') {
      if (packet.status !== 'valid') return
      placed([fields[3], fields[5]], packet.latitude, packet.longitude)
      const gpsWallMs = packet.datetime.getTime()
      if (Number.isFinite(gpsWallMs)) {
        clockSeen = { behindMs: gpsWallMs - clock.wallMs(), atMs: clock.monotonicMs() }
      }
    }
  }

  return {
    line(text) {
      const line = text.trim()
      if (line === '') return
      lineCount++
      try {
        if (line.length > lineCharactersMax) throw new RangeError('too long')
        read(line)
      } catch {
        // The parser throws for what it does not know, too; only what claims to be of use counts as bad.
        if (!/^\$..(GS[AV]|VTG|GLL|ZDA|TXT|GNS)/.test(line)) badLineCount++
      }
    },
    state() {
      const nowMs = clock.monotonicMs()
      const fresh = fix !== undefined && nowMs - fix.atMs <= fixAgeMaxMs ? fix : undefined
      const clockFresh = clockSeen !== undefined && nowMs - clockSeen.atMs <= clockAgeMaxMs
      return {
        position: fresh && { latitudeDeg: fresh.latitudeDeg, longitudeDeg: fresh.longitudeDeg },
        heightM: fresh && heightM,
        satellites: fresh && satellites,
        clockBehindMs: clockFresh ? clockSeen?.behindMs : undefined,
        lineCount,
        badLineCount,
      }
    },
  }
}
