import { harmlessText } from '../runtime/harmlessText.js'
import { geodesicBetween } from '../services/geo/geodesic.js'
import type { GeoPosition } from '../services/service.js'
import type { StationRecord } from '../store/stations.js'
import type { PageParts } from './parts.js'
import { Refusal } from './refusal.js'
import type { StationDetail, StationView } from './schemas.js'

function stationView(record: StationRecord, from: GeoPosition | undefined): StationView {
  const { position, status, quality, ...rest } = record
  const way = position && from && geodesicBetween(from, position)
  return {
    ...rest,
    via: [...record.via],
    ...(way && { distanceKm: way.distanceM / 1000, bearingDeg: way.bearingDeg }),
    quality: quality && { ...quality },
    position: position && {
      latitudeDeg: position.latitudeDeg,
      longitudeDeg: position.longitudeDeg,
      atWallMs: position.atWallMs,
    },
    status: status === undefined ? undefined : harmlessText(status),
  }
}

export const stationViews = ({ store, node }: PageParts, limit: number): StationView[] => {
  const { position } = node.state()
  return store.stations.recent(limit).map((record) => stationView(record, position))
}

const hours = 24
const askedMax = 50
const signalsMax = 8

/** @throws Refusal for one that was never heard */
export function stationDetail({ store, node, clock }: PageParts, call: string): StationDetail {
  const record = store.stations.find(call)
  if (record === undefined)
    throw new Refusal(
      404,
      'station',
      `${harmlessText(call)} was not heard, or longer ago than is kept.`,
    )
  const asked = store.questions
    .recent(1000)
    .filter(({ from }) => from === record.call)
    .slice(-askedMax)
  return {
    ...stationView(record, node.state().position),
    signals: store.stations
      .signals(record.call, signalsMax)
      .map(({ atWallMs, quality }) => ({ atWallMs, quality: { ...quality } })),
    hourlyCounts: [...(store.stations.hourlyCounts(record.call, hours, clock.wallMs()) ?? [])],
    asked: asked.reverse().map(({ id, text, heardWallMs, state }) => ({
      ...{ id, text: harmlessText(text), heardWallMs, state },
    })),
  }
}
