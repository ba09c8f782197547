import { csvCell, harmlessText } from '../runtime/harmlessText.js'
import type { StationView } from './schemas.js'

/** Stations as a table, for a spreadsheet. */
export function stationsCsv(stations: readonly StationView[]): string {
  const head =
    'call,first heard,last heard,frames,radio,via,latitude deg,longitude deg,distance km,bearing deg,level dBFS,Eb/N0 dB,tone balance dB,status'
  const time = (wallMs: number): string => new Date(wallMs).toISOString()
  const figure = (value: number | undefined, digits: number): string =>
    value === undefined ? '' : value.toFixed(digits)
  const rows = stations.map((one) =>
    [
      ...[one.call, time(one.firstHeardWallMs), time(one.lastHeardWallMs), String(one.frameCount)],
      ...[String(one.radio), one.via.join(' ')],
      ...[figure(one.position?.latitudeDeg, 5), figure(one.position?.longitudeDeg, 5)],
      ...[figure(one.distanceKm, 1), figure(one.bearingDeg, 0)],
      ...[figure(one.quality?.levelDbfs, 1), figure(one.quality?.ebN0Db, 1)],
      ...[figure(one.quality?.toneBalanceDb, 1), one.status ?? ''],
    ]
      .map((cell) => (/^-?[\d.]+$/.test(cell) ? cell : csvCell(cell)))
      .join(','),
  )
  return `${[head, ...rows].join('\r\n')}\r\n`
}

/** Stations whose position is known, as GeoJSON (RFC 7946). */
export function stationsGeoJson(stations: readonly StationView[]): string {
  const features = stations.flatMap(
    ({ position, call, lastHeardWallMs, frameCount, via, quality }) =>
      position === undefined
        ? []
        : [
            {
              type: 'Feature',
              geometry: {
                type: 'Point',
                coordinates: [position.longitudeDeg, position.latitudeDeg],
              },
              properties: {
                ...{ call, frames: frameCount, via: via.join(' ') },
                lastHeard: new Date(lastHeardWallMs).toISOString(),
                ...(quality && { levelDbfs: quality.levelDbfs, ebN0Db: quality.ebN0Db }),
              },
            },
          ],
  )
  return JSON.stringify({ type: 'FeatureCollection', features })
}

/** Stations whose position is known, as waypoints (GPX 1.1). */
export function stationsGpx(stations: readonly StationView[]): string {
  const points = stations.flatMap(({ position, call, lastHeardWallMs, status }) => {
    if (position === undefined) return []
    const { latitudeDeg, longitudeDeg } = position
    const about = status === undefined ? '' : `<desc>${xml(status)}</desc>`
    const time = new Date(lastHeardWallMs).toISOString()
    return [
      `  <wpt lat="${latitudeDeg}" lon="${longitudeDeg}"><time>${time}</time><name>${xml(call)}</name>${about}</wpt>`,
    ]
  })
  return [
    '<?xml version="1.0" encoding="UTF-8"?>',
    '<gpx version="1.1" creator="Ridgepost" xmlns="http://www.topografix.com/GPX/1/1">',
    ...points,
    '</gpx>',
    '',
  ].join('\n')
}

/** Signs that XML 1.0 cannot hold at all are left out. */
const xml = (text: string): string =>
  harmlessText(text)
    .replace(/[\ufffe\uffff]/g, '')
    .replace(/[&<>"']/g, (character) => `&#${character.charCodeAt(0)};`)
