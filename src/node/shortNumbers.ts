import { setNewest } from '../runtime/setNewest.js'

/** Stations that understand a reply that acknowledges: their messages get short numbers. */
export interface ShortNumbers {
  /** A message of a station came, with or without such a reply. */
  note(station: string, understands: boolean): void
  has(station: string): boolean
}

/** Anybody can forge as many calls as he likes. */
const stationsMax = 2_000

export function shortNumbers(): ShortNumbers {
  const stations = new Map<string, true>()
  return {
    note(station, understands) {
      if (understands) setNewest(stations, station, true, stationsMax)
      else stations.delete(station)
    },
    has: (station) => stations.has(station),
  }
}
