import type { StationDetail, StationPosition, StationView } from '../../schemas'
import { ago, bearing, db, km, placeOf, signedDb, timeOf } from '../format'
import { useReading, Waiting } from '../read'
import { words } from '../settings'
import { Rings } from './rings'

export function Stations() {
  const text = words.value
  const { value: stations, why } = useReading<StationView[]>('stations?limit=500')
  if (stations === undefined) return <Waiting why={why} />
  return (
    <section aria-labelledby="q-who">
      <h2 id="q-who">{text.questions.who}</h2>
      <div class="rings-and-table">
        <Rings stations={stations} />
        <StationTable stations={stations} />
      </div>
      <p>
        {text.station.exports} <a href="/api/v1/stations.csv">CSV</a>{' '}
        <a href="/api/v1/stations.geojson">GeoJSON</a> <a href="/api/v1/stations.gpx">GPX</a>
        <br />
        {text.station.coverage} <a href="/api/v1/coverage.geojson">GeoJSON</a>
      </p>
    </section>
  )
}

/** On a narrow screen each station is a paragraph: the labels stand in the cells. */
export function StationTable({
  stations,
  isShort = false,
}: {
  readonly stations: readonly StationView[]
  readonly isShort?: boolean
}) {
  const text = words.value.station
  if (stations.length === 0) return <p class="quiet">{text.none}</p>
  return (
    <table class="cards">
      <thead>
        <tr>
          <th scope="col">{text.call}</th>
          <th scope="col">{text.heard}</th>
          <th scope="col">{text.distance}</th>
          <th scope="col">{text.bearing}</th>
          <th scope="col">{text.signal}</th>
          {!isShort && (
            <>
              <th scope="col">{text.level}</th>
              <th scope="col">{text.balance}</th>
              <th scope="col">{text.way}</th>
              <th scope="col">{text.frames}</th>
            </>
          )}
        </tr>
      </thead>
      <tbody>
        {stations.map((one) => (
          <tr key={one.call}>
            <th scope="row">
              <a href={`#/stations/${encodeURIComponent(one.call)}`}>{one.call}</a>
            </th>
            <td data-label={text.heard}>{ago(one.lastHeardWallMs)}</td>
            <td data-label={text.distance}>
              {one.distanceKm === undefined ? text.unknown : km(one.distanceKm)}
            </td>
            <td data-label={text.bearing}>
              {one.bearingDeg === undefined ? '' : bearing(one.bearingDeg)}
            </td>
            <td data-label={text.signal}>{one.quality && `${db(one.quality.ebN0Db)} dB`}</td>
            {!isShort && (
              <>
                <td data-label={text.level}>
                  {one.quality && `${db(one.quality.levelDbfs)} dBFS`}
                </td>
                <td data-label={text.balance}>
                  {one.quality && signedDb(one.quality.toneBalanceDb)}
                </td>
                <td data-label={text.way}>{wayOf(one)}</td>
                <td data-label={text.frames}>{one.frameCount}</td>
              </>
            )}
          </tr>
        ))}
      </tbody>
    </table>
  )
}

const wayOf = ({ via }: StationView): string =>
  via[0] === 'direct' ? words.value.station.direct : via.join(', ')

const bars = { width: 480, height: 60 }

export function Station({ call }: { readonly call: string }) {
  const text = words.value
  const { value: one, why } = useReading<StationDetail>(`stations/${encodeURIComponent(call)}`)
  if (one === undefined) return <Waiting why={why} />
  return (
    <section aria-labelledby="q-station">
      <h2 id="q-station">{one.call}</h2>
      <p>
        {text.station.last(ago(one.lastHeardWallMs), wayOf(one))}{' '}
        {text.station.first(timeOf(one.firstHeardWallMs))}
        {one.position !== undefined &&
          ` ${text.station.position(placeOf(one.position), ago(one.position.atWallMs))}`}
        {one.distanceKm !== undefined && ` ${km(one.distanceKm)}, ${bearing(one.bearingDeg!)}.`}
      </p>
      {one.status !== undefined && (
        <p>
          {text.station.status}: {one.status}
        </p>
      )}
      <h3>{text.station.hours}</h3>
      <Hours counts={one.hourlyCounts} />
      {one.signals.length > 0 && <Signals signals={one.signals} />}
      <Positions call={one.call} />
      <h3>{text.station.asked}</h3>
      {one.asked.length === 0 && <p class="quiet">{text.station.nothingAsked}</p>}
      <ol class="plain">
        {one.asked.map(({ id, text: asked, heardWallMs, state }) => (
          <li key={id}>
            <time>{timeOf(heardWallMs)}</time> {asked}: {text.thread.states[state] ?? state}
          </li>
        ))}
      </ol>
    </section>
  )
}

function Hours({ counts }: { readonly counts: readonly number[] }) {
  const most = Math.max(1, ...counts)
  const wide = bars.width / counts.length
  const total = counts.reduce((sum, count) => sum + count, 0)
  return (
    <svg
      class="hours"
      viewBox={`0 0 ${bars.width} ${bars.height}`}
      role="img"
      aria-label={words.value.station.hoursLabel(total)}
    >
      {counts.map((count, hoursAgo) => (
        <rect
          key={hoursAgo}
          x={bars.width - (hoursAgo + 1) * wide + 1}
          y={bars.height - 1 - (count / most) * (bars.height - 2)}
          width={wide - 2}
          height={Math.max(1, (count / most) * (bars.height - 2))}
        />
      ))}
    </svg>
  )
}

function Signals({ signals }: { readonly signals: StationDetail['signals'] }) {
  const text = words.value.station
  return (
    <>
      <h3>{text.overTime}</h3>
      <table class="cards">
        <thead>
          <tr>
            <th scope="col">{text.heard}</th>
            <th scope="col">{text.signal}</th>
            <th scope="col">{text.level}</th>
            <th scope="col">{text.balance}</th>
            <th scope="col">{text.offset}</th>
            <th scope="col">{text.eye}</th>
          </tr>
        </thead>
        <tbody>
          {signals.map(({ atWallMs, quality }) => (
            <tr key={atWallMs}>
              <th scope="row">{timeOf(atWallMs)}</th>
              <td data-label={text.signal}>{db(quality.ebN0Db)} dB</td>
              <td data-label={text.level}>{db(quality.levelDbfs)} dBFS</td>
              <td data-label={text.balance}>{signedDb(quality.toneBalanceDb)}</td>
              <td data-label={text.offset}>
                {quality.bitRate === 9600 ? '' : `${Math.round(quality.toneOffsetHz)} Hz`}
              </td>
              <td data-label={text.eye}>{Math.round(quality.eyeOpening * 100)} %</td>
            </tr>
          ))}
        </tbody>
      </table>
    </>
  )
}

const positionsLookMs = 30_000

/** Where it was, as far as its frames are kept. */
function Positions({ call }: { readonly call: string }) {
  const text = words.value.station
  const path = `stations/${encodeURIComponent(call)}/positions`
  const { value: places, why } = useReading<StationPosition[]>(path, positionsLookMs)
  return (
    <>
      <h3>{text.positions}</h3>
      {places === undefined && <Waiting why={why} />}
      {places?.length === 0 && <p class="quiet">{text.noPositions}</p>}
      {places !== undefined && places.length > 0 && (
        <table class="cards">
          <thead>
            <tr>
              <th scope="col">{text.when}</th>
              <th scope="col">{text.place}</th>
              <th scope="col">{text.locator}</th>
              <th scope="col">{text.distance}</th>
              <th scope="col">{text.bearing}</th>
              <th scope="col">{text.frames}</th>
            </tr>
          </thead>
          <tbody>
            {places.map((one) => (
              <tr key={one.toWallMs}>
                <th scope="row">
                  {one.fromWallMs === one.toWallMs
                    ? timeOf(one.toWallMs)
                    : `${timeOf(one.fromWallMs)} – ${timeOf(one.toWallMs)}`}
                </th>
                <td data-label={text.place}>{placeOf(one)}</td>
                <td data-label={text.locator}>{one.locator}</td>
                <td data-label={text.distance}>
                  {one.distanceKm === undefined ? text.unknown : km(one.distanceKm)}
                </td>
                <td data-label={text.bearing}>
                  {one.bearingDeg === undefined ? '' : bearing(one.bearingDeg)}
                </td>
                <td data-label={text.frames}>
                  {one.count}
                  {!one.isDirect && ` ${text.relayed}`}
                </td>
              </tr>
            ))}
          </tbody>
        </table>
      )}
    </>
  )
}
