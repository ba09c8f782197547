import { ambiguityRadiusKm } from './coordinates.js'
import { antennaRangeKm } from './extension.js'
import { describeTimestamp } from './timestamp.js'
import type {
  AprsPayload,
  FrequencyReport,
  PositionDetails,
  TelemetryValues,
  Weather,
} from './types.js'

/**
 * What a payload says, in plain words, metric. Texts from the air stand in it as they came: who
 * prints it makes it harmless.
 */
export function describePayload(payload: AprsPayload): string {
  switch (payload.kind) {
    case 'message': {
      const number = payload.number === undefined ? '' : `, number ${payload.number}`
      const also = payload.replyAcknowledges ? `, acknowledges ${payload.replyAcknowledges}` : ''
      const damage = payload.problem === undefined ? '' : `, damaged: ${payload.problem}`
      return `message to ${payload.addressee}${number}${also}${damage}: ${payload.text}`
    }
    case 'acknowledgement':
    case 'rejection':
      return `${payload.kind} to ${payload.addressee} of message ${payload.number}`
    case 'bulletin':
      return `${bulletinWords(payload)}: ${payload.text}`
    case 'directedQuery':
      return list(`query to ${payload.addressee}: ${payload.query}`, payload.target)
    case 'query': {
      const { footprint, query } = payload
      const damage = payload.problem && `damaged: ${payload.problem}`
      if (footprint === undefined) return list(`query to everybody: ${query}`, damage)
      return `query within ${round(footprint.radiusKm)} km of ${place(footprint)}: ${query}`
    }
    case 'position':
      return list(`position ${detailWords(payload)}`, quote(payload.comment))
    case 'micE':
      return list(
        `position ${detailWords(payload)}`,
        payload.emergency ? 'EMERGENCY' : `status ${payload.statusCode}`,
        payload.locator,
        quote(payload.comment),
      )
    case 'object':
    case 'item': {
      const gone = payload.live ? '' : ' (gone)'
      return list(
        `${payload.kind} ${payload.name}${gone} at ${detailWords(payload)}`,
        quote(payload.comment),
      )
    }
    case 'weather':
      return list(
        `weather ${weatherWords(payload.weather)}`,
        payload.timestamp && describeTimestamp(payload.timestamp),
        payload.problem && `damaged: ${payload.problem}`,
        quote(payload.comment),
      )
    case 'status':
      return list(
        payload.text === '' ? 'status' : `status: ${payload.text}`,
        payload.locator && `locator ${payload.locator}`,
        payload.beamHeadingDeg === undefined
          ? undefined
          : `beam ${payload.beamHeadingDeg}°, ${payload.radiatedPowerW} W radiated`,
        frequencyWords(payload.frequency),
        payload.timestamp && describeTimestamp(payload.timestamp),
      )
    default:
      return describeOther(payload)
  }
}

type Other = Exclude<
  AprsPayload,
  {
    kind:
      | 'message'
      | 'acknowledgement'
      | 'rejection'
      | 'bulletin'
      | 'directedQuery'
      | 'query'
      | 'position'
      | 'micE'
      | 'object'
      | 'item'
      | 'weather'
      | 'status'
  }
>

function describeOther(payload: Other): string {
  switch (payload.kind) {
    case 'telemetry':
      return list(`telemetry ${telemetryWords(payload.telemetry)}`, quote(payload.comment))
    case 'telemetryDefinition':
      return `telemetry of ${payload.addressee}, ${definitionWords(payload)}`
    case 'rawWeather':
      return `weather station record: ${payload.record}`
    case 'nmea': {
      const where =
        payload.latitudeDeg === undefined || payload.longitudeDeg === undefined
          ? undefined
          : place({ latitudeDeg: payload.latitudeDeg, longitudeDeg: payload.longitudeDeg })
      const what = payload.waypoint === undefined ? 'position' : `waypoint ${payload.waypoint} at`
      return list(
        `${what} ${where ?? 'not given'}`,
        motionWords(payload),
        altitudeWords(payload.altitudeM),
        payload.time && `${payload.time} UTC`,
        `from NMEA ${payload.sentence}`,
      )
    }
    case 'locator':
      return list(`locator ${payload.locator}`, quote(payload.comment))
    case 'capabilities': {
      const tokens = Object.entries(payload.tokens).map(([name, value]) =>
        value === true ? name : `${name} ${value}`,
      )
      return `capabilities: ${tokens.join(', ')}`
    }
    case 'thirdParty':
      return `passed on from ${payload.source}: ${describePayload(payload.payload)}`
    case 'userDefined':
      return `user-defined ${payload.userId}${payload.packetType}: ${payload.data}`
    case 'test':
      return `test data: ${payload.data}`
    case 'unreadable':
      return `unreadable: ${payload.reason}`
  }
}

/** `49.0583 N 72.0292 W`, with as many decimals as the sender's precision deserves. */
function place(
  at: { readonly latitudeDeg: number; readonly longitudeDeg: number },
  decimals = 4,
): string {
  const side = (degrees: number, positive: string, negative: string): string =>
    `${Math.abs(degrees).toFixed(decimals)} ${degrees < 0 ? negative : positive}`
  return `${side(at.latitudeDeg, 'N', 'S')} ${side(at.longitudeDeg, 'E', 'W')}`
}

function detailWords(details: PositionDetails): string {
  const { position } = details
  const unknown = position.latitudeDeg === 0 && position.longitudeDeg === 0
  const radiusKm = ambiguityRadiusKm(position.ambiguityDigits)
  return list(
    unknown ? 'unknown' : place(position, position.ambiguityDigits > 1 ? 2 : 4),
    position.ambiguityDigits > 0 ? `within ${fixed(radiusKm)} km` : undefined,
    motionWords(details),
    altitudeWords(details.altitudeM),
    details.antenna && antennaWords(details.antenna),
    details.rangeKm === undefined ? undefined : `range ${round(details.rangeKm)} km`,
    details.signal && `strength S${details.signal.strengthS}`,
    details.bearing && `transmitter at ${details.bearing.bearingDeg}°`,
    details.area && `area: ${details.area.shapeName}, ${details.area.colorName}`,
    details.storm && stormWords(details.storm),
    details.signpost && `sign ${details.signpost}`,
    details.weather && `weather ${weatherWords(details.weather)}`,
    details.telemetry && `telemetry ${telemetryWords(details.telemetry)}`,
    frequencyWords(details.frequency),
    details.timestamp && describeTimestamp(details.timestamp),
    details.problem && `damaged: ${details.problem}`,
  )
}

function motionWords(of: { courseDeg?: number; speedKmh?: number }): string | undefined {
  const { courseDeg, speedKmh } = of
  if (speedKmh === undefined) return courseDeg === undefined ? undefined : `course ${courseDeg}°`
  const course = courseDeg === undefined ? '' : ` towards ${round(courseDeg)}°`
  return `${round(speedKmh)} km/h${course}`
}

const altitudeWords = (altitudeM: number | undefined): string | undefined =>
  altitudeM === undefined ? undefined : `${round(altitudeM)} m high`

function antennaWords(antenna: NonNullable<PositionDetails['antenna']>): string {
  const { powerW, heightAboveTerrainM, gainDb, directionDeg } = antenna
  const direction = typeof directionDeg === 'number' ? ` towards ${directionDeg}°` : ''
  const height = round(heightAboveTerrainM)
  const reach = `reach about ${round(antennaRangeKm(antenna))} km`
  return `${powerW} W, antenna ${height} m above terrain, ${gainDb} dB${direction}, ${reach}`
}

function stormWords(storm: NonNullable<PositionDetails['storm']>): string {
  const wind = storm.sustainedWindKmh
  return wind === undefined ? storm.stormKind : `${storm.stormKind}, ${round(wind)} km/h sustained`
}

function weatherWords(weather: Weather): string {
  const wind =
    weather.windSpeedMps === undefined
      ? undefined
      : `wind ${fixed(weather.windSpeedMps)} m/s${
          weather.windDirectionDeg === undefined ? '' : ` from ${weather.windDirectionDeg}°`
        }`
  const value = (amount: number | undefined, unit: string, name: string): string | undefined =>
    amount === undefined ? undefined : `${name} ${fixed(amount)} ${unit}`
  const { rainLastHourMm, rainLastDayMm, rainSinceMidnightMm } = weather
  const rainMm = [rainLastHourMm, rainLastDayMm, rainSinceMidnightMm].filter(
    (amount) => amount !== undefined,
  )
  // On most days all of them are told, and all are 0.
  const isDry = rainMm.length > 0 && rainMm.every((amount) => amount === 0)
  const words = list(
    weather.temperatureC === undefined ? undefined : `${fixed(weather.temperatureC)} °C`,
    wind,
    value(weather.windGustMps, 'm/s', 'gusts'),
    ...(isDry
      ? ['no rain']
      : [
          value(rainLastHourMm, 'mm', 'rain in an hour'),
          value(rainLastDayMm, 'mm', 'rain in a day'),
          value(rainSinceMidnightMm, 'mm', 'rain since midnight'),
        ]),
    value(weather.snowLastDayMm, 'mm', 'snow in a day'),
    weather.humidityPercent === undefined ? undefined : `humidity ${weather.humidityPercent} %`,
    value(weather.pressureHpa, 'hPa', 'pressure'),
    value(weather.luminosityWattsPerM2, 'W/m²', 'sunlight'),
    value(weather.waterLevelM, 'm', 'water level'),
    value(weather.batteryV, 'V', 'battery'),
    value(weather.radiationNanosievertsPerHour, 'nSv/h', 'radiation'),
  )
  return words === '' ? 'without values' : words
}

function telemetryWords(telemetry: TelemetryValues): string {
  const analog = telemetry.analog.map((value) => value ?? '-').join(' ')
  const digital = telemetry.digital.map((bit) => (bit ? '1' : '0')).join('')
  return list(`${telemetry.sequence}: ${analog}`, digital === '' ? undefined : `bits ${digital}`)
}

function definitionWords(payload: Extract<AprsPayload, { kind: 'telemetryDefinition' }>): string {
  if (payload.definition === 'equations') {
    return `equations: ${payload.coefficients.map((abc) => abc.join(' ')).join('; ')}`
  }
  if (payload.definition === 'bits') {
    const states = payload.activeStates.map((state) => (state ? '1' : '0')).join('')
    return `active bits ${states}: ${payload.title}`
  }
  return `${payload.definition}: ${payload.labels.join(', ')}`
}

function bulletinWords(payload: Extract<AprsPayload, { kind: 'bulletin' }>): string {
  const { bulletinKind, id, group, addressee } = payload
  if (bulletinKind === 'weather service') return `weather service bulletin ${addressee}`
  return group === undefined ? `${bulletinKind} ${id}` : `bulletin ${id} for group ${group}`
}

function frequencyWords(frequency: FrequencyReport | undefined): string | undefined {
  if (frequency === undefined) return undefined
  const { tone, offsetMhz, rangeKm } = frequency
  return list(
    frequency.frequencyMhz === undefined ? undefined : `${frequency.frequencyMhz.toFixed(3)} MHz`,
    tone === undefined ? undefined : toneWords(tone),
    offsetMhz === undefined ? undefined : offsetMhz === 0 ? 'simplex' : `offset ${offsetMhz} MHz`,
    rangeKm === undefined ? undefined : `reach ${round(rangeKm)} km`,
  )
}

function toneWords(tone: NonNullable<FrequencyReport['tone']>): string {
  if (tone.toneKind === 'off') return 'no tone'
  return tone.toneKind === 'dcs' ? `DCS ${tone.dcsCode}` : `tone ${tone.toneHz} Hz`
}

/** Joins what is there. */
const list = (...parts: (string | undefined)[]): string =>
  parts.filter((part) => part !== undefined && part !== '').join(', ')

const quote = (text: string): string | undefined => (text === '' ? undefined : `“${text}”`)

const round = (value: number): string => String(Math.round(value))

const fixed = (value: number): string => String(Number(value.toFixed(1)))
