import { expect } from 'vitest'
import { decodeBase91 } from '../../src/aprs/base91.js'
import { formatCompressed, parseCompressed } from '../../src/aprs/compressed.js'
import { ambiguityMinutes, parseLatitude } from '../../src/aprs/coordinates.js'
import {
  antennaRangeKm,
  courseAndSpeed,
  parseAntenna,
  parsePair,
} from '../../src/aprs/extension.js'
import { formatCapabilities, formatMessage, formatStatus } from '../../src/aprs/format.js'
import { findFields, findFrequency } from '../../src/aprs/frequency.js'
import { decodeMicEDestination } from '../../src/aprs/micE.js'
import { directsReply, heardReply, traceReply } from '../../src/aprs/queryReply.js'
import { findCommentTelemetry } from '../../src/aprs/telemetry.js'
import { describeTimestamp, parseTimestamp } from '../../src/aprs/timestamp.js'
import {
  degreesMinutes,
  examplePosition,
  exampleWallMs,
  frequencyChecks,
  type Handler,
  pick,
  value,
} from './aprsExamples.js'
import {
  checkAll,
  checkAntenna,
  checkTelemetry,
  knots,
  miles,
  near,
  type Pair,
  parseInfo,
  positionChecks,
  prose,
  same,
  textOf,
  weatherChecks,
} from './aprsExpectations.js'

type MicEHead = ReturnType<typeof decodeMicEDestination> & { ok: true }

const micEHeadChecks = {
  lat_digits: (h: MicEHead, e: string) => expect(h.value.latitudeDigits).toBe(e),
  lat: (h: MicEHead, e: number) => near(h.value.latitudeDeg, e),
  ambiguity: (h: MicEHead, e: number) => expect(h.value.ambiguityDigits).toBe(e),
  message: (h: MicEHead, e: string) => expect(h.value.statusCode).toBe(e),
  north: (h: MicEHead, e: boolean) => expect(h.value.north).toBe(e),
  lon_offset: (h: MicEHead, e: number) => expect(h.value.longitudeOffset).toBe(e),
  west: (h: MicEHead, e: boolean) => expect(h.value.west).toBe(e),
}

function checkMicE(pair: Pair): void {
  const head = decodeMicEDestination(pair.dest!)
  if (!head.ok) throw new Error(head.reason)
  const headKeys = Object.entries(pair.expect).filter(([key]) => key in micEHeadChecks)
  checkAll({ ...pair, expect: Object.fromEntries(headKeys) }, head, micEHeadChecks)
  if (pair.info === null) {
    expect(headKeys).toHaveLength(Object.keys(pair.expect).length)
    return
  }
  const payload = pick(parseInfo(pair.info, pair.dest), 'micE')
  const longitudeText = degreesMinutes(payload.position.longitudeDeg, 'EW')
  checkAll(pair, payload, {
    ...micEHeadChecks,
    lat_digits: prose,
    north: prose,
    lon_offset: prose,
    west: prose,
    ...positionChecks,
    message: () => expect(payload.statusCode).toBe(pair.expect.message),
    lon_text: () => expect(longitudeText).toBe(pair.expect.lon_text),
    lon_text_shown: () =>
      expect(longitudeText.replace(/\d\d (?=[EW])/, '__ ')).toBe(pair.expect.lon_text_shown),
    fix: () => expect(payload.fix).toBe(pair.expect.fix),
  })
}

function checkPosition(pair: Pair): void {
  checkAll(pair, pick(parseInfo(pair.info!), 'position', 'object', 'item'), positionChecks)
}

function checkCompressed(pair: Pair): void {
  if (!pair.id.startsWith('cmp-c')) {
    checkPosition(pair)
    return
  }
  const { from_lat, from_lon, truncated_form, ...place } = pair.expect as Record<string, number>
  const compressed = value(parseCompressed(pair.info!))
  expect(Math.abs(compressed.latitudeDeg - place.lat!)).toBeLessThan(1e-5)
  expect(Math.abs(compressed.longitudeDeg - place.lon!)).toBeLessThan(1e-5)
  expect(formatCompressed(from_lat!, from_lon!, { table: '/', code: '>' })).toBe(pair.info)
  const truncated = value(parseCompressed(`/${truncated_form}>  !`))
  expect(Math.abs(truncated.latitudeDeg - from_lat!)).toBeLessThan(1e-5)
  expect(Math.abs(truncated.longitudeDeg - from_lon!)).toBeLessThan(1e-5)
}

function checkWeather(pair: Pair): void {
  if (pair.id.startsWith('wx-raw')) {
    expect(pick(parseInfo(pair.info!), 'rawWeather').record).toBe(pair.info)
    return
  }
  const payload = pick(parseInfo(pair.info!), 'weather', 'position')
  checkAll(pair, payload, { ...positionChecks, ...weatherChecks })
}

function checkMessage(pair: Pair): void {
  const payload = parseInfo(pair.info!)
  const fields = payload as unknown as Record<string, string>
  checkAll(pair, payload, {
    addressee: () => expect(fields.addressee).toBe(pair.expect.addressee),
    text: () => expect(fields.text).toBe(pair.expect.text),
    number: () => same(fields.number, pair.expect.number),
    reply_ack: () => expect(fields.replyAcknowledges).toBe(pair.expect.reply_ack),
    ack: () =>
      expect(payload.kind === 'message' && payload.number !== undefined).toBe(pair.expect.ack),
    read: () => expect(payload.kind).toBe('message'),
    kind: () => {
      const kinds: Record<string, unknown> = {
        rej: { kind: 'rejection' },
        bulletin: { kind: 'bulletin', bulletinKind: 'bulletin' },
        'group bulletin': { kind: 'bulletin', bulletinKind: 'group' },
        'weather service bulletin': { kind: 'bulletin', bulletinKind: 'weather service' },
      }
      expect(payload).toMatchObject(kinds[pair.expect.kind as string] as object)
    },
    id: () => expect(fields.id).toBe(pair.expect.id),
    group: () => expect(fields.group).toBe(pair.expect.group),
    severity: () => expect(fields.id).toBe(pair.expect.severity),
    reference: () => expect(fields.reference).toBe(pair.expect.reference),
  })
}

const answer = (text: string): string => textOf(formatMessage({ addressee: 'TE6R', text }))

/** Answers to the directed queries, as our formatter makes them. */
const directedAnswers: Record<string, () => string> = {
  'q-aprsd': () => answer(directsReply(['TE7AA', 'TE8BB'])),
  'q-aprsh': () => answer(heardReply('TE9CC', [1, 3, 2, 0, 0, 4, 5, 6])),
  'q-aprsm': () => textOf(formatMessage({ addressee: 'TE6R', text: 'Testing', number: '003' })),
  'q-aprsp': examplePosition,
  'q-aprss': () => textOf(formatStatus({ text: 'Net Control Center', atWallMs: exampleWallMs })),
  'q-aprst': () => answer(traceReply('TE5Q>APZ001,DIGI1,WIDE*')),
  'q-ping': () => answer(traceReply('TE5Q>APZ001,DIGI1,WIDE*')),
}

function checkQuery(pair: Pair): void {
  const payload = parseInfo(pair.info!)
  if (payload.kind === 'capabilities') {
    expect(pair.expect).toEqual({ kind: 'capabilities', tokens: payload.tokens })
    expect(textOf(formatCapabilities(payload.tokens))).toBe(pair.info)
    return
  }
  const query = pick(payload, 'directedQuery')
  checkAll(pair, query, {
    addressee: () => expect(query.addressee).toBe(pair.expect.addressee),
    query: () => expect(query.query).toBe(pair.expect.query),
    response: () => expect(directedAnswers[pair.id]!()).toBe(pair.expect.response),
    // A kind of its own: nothing that wants an acknowledgement.
    ack: () => expect(pair.expect.ack).toBe(false),
  })
  if (pair.id === 'q-aprsh') expect(query.target).toBe('TE9CC')
}

function checkStatus(pair: Pair): void {
  const payload = pick(parseInfo(pair.info!), 'status')
  checkAll(pair, payload, {
    text: () => expect(payload.text).toBe(pair.expect.text),
    timestamp: () => expect(describeTimestamp(payload.timestamp!)).toBe(pair.expect.timestamp),
    locator: () => expect(payload.locator).toBe(pair.expect.locator),
    table: () => expect(payload.symbol?.table).toBe(pair.expect.table),
    symbol: () => expect(payload.symbol?.code).toBe(pair.expect.symbol),
    beam_deg: () => expect(payload.beamHeadingDeg).toBe(pair.expect.beam_deg),
    erp_w: () => expect(payload.radiatedPowerW).toBe(pair.expect.erp_w),
  })
}

function checkTelemetryRow(pair: Pair): void {
  if ('value' in pair.expect) expect(value(decodeBase91(pair.info!))).toBe(pair.expect.value)
  else if (pair.info!.startsWith('|')) {
    checkTelemetry(findCommentTelemetry(pair.info!)?.telemetry, pair.expect as never)
  } else if (pair.info!.startsWith('T')) {
    checkTelemetry(pick(parseInfo(pair.info!), 'telemetry').telemetry, pair.expect as never)
  } else checkPosition(pair)
}

function checkExtension(pair: Pair): void {
  if (pair.id.startsWith('ext-unk')) {
    const motion = courseAndSpeed(value(parsePair(pair.info!)))
    same(motion.courseDeg, pair.expect.course)
    same(motion.speedKmh, pair.expect.speed)
    return
  }
  const { range_mi, range_mi_computed, range_mi_text, offset_mi, ...antenna } = pair.expect as {
    range_mi?: number
    range_mi_computed?: number
    range_mi_text?: number
    offset_mi?: number
  }
  const parsed = value(parseAntenna(pair.info!))
  checkAntenna(parsed, antenna as never)
  const range = miles(antennaRangeKm(parsed))
  near(range, (range_mi ?? range_mi_computed)!, 3)
  if (range_mi_text !== undefined) near(range, range_mi_text, 1)
  // A third of the range; the text rounds its own 7.9 and 2.6 up.
  if (offset_mi !== undefined) expect(Math.abs(range / 3 - offset_mi)).toBeLessThan(0.06)
}

function checkTime(pair: Pair): void {
  const time = parseTimestamp(pair.info!)
  if ('result' in pair.expect) {
    expect(time).toMatchObject({ ok: false })
    expect(!time.ok && time.reason).toMatch(/out of range/)
  } else expect(describeTimestamp(value(time))).toBe(pair.expect.meaning)
}

function checkFrequency(pair: Pair): void {
  const fields = /^ /.test(pair.info!)
  const found = fields ? findFields(pair.info!).found : findFrequency(pair.info!)?.frequency
  checkAll(pair, found, frequencyChecks)
}

function checkNmea(pair: Pair): void {
  const payload = pick(parseInfo(pair.info!), 'nmea')
  checkAll(pair, payload, {
    time: () => expect(payload.time).toBe(pair.expect.time),
    lat: () => near(payload.latitudeDeg, pair.expect.lat as number),
    lon: () => near(payload.longitudeDeg, pair.expect.lon as number),
    altitude_m: () => expect(payload.altitudeM).toBe(pair.expect.altitude_m),
    course: () => expect(payload.courseDeg).toBe(pair.expect.course),
    speed_kn: () => near(knots(payload.speedKmh), pair.expect.speed_kn as number),
    speed_kmh: () => near(payload.speedKmh, pair.expect.speed_kmh as number, 1),
  })
}

export const byGroup: Record<string, Handler> = {
  'position uncompressed': checkPosition,
  'latitude/longitude fields': (pair) => {
    const latitude = value(parseLatitude(pair.info!))
    expect(latitude.ambiguityDigits).toBe(pair.expect.ambiguity)
    const sizes: Record<string, number> = { '1 minute': 1, '10 minutes': 10, '1 degree': 60 }
    expect(ambiguityMinutes[latitude.ambiguityDigits]).toBe(sizes[pair.expect.precision as string])
  },
  'raw NMEA': checkNmea,
  'position compressed': checkCompressed,
  'mic-e': checkMicE,
  object: checkPosition,
  item: checkPosition,
  weather: checkWeather,
  telemetry: checkTelemetryRow,
  message: checkMessage,
  query: checkQuery,
  status: checkStatus,
  'user defined / test': (pair) => {
    const payload = pick(parseInfo(pair.info!), 'userDefined')
    const { user_id, packet_type, data, experimental = false } = pair.expect
    expect(payload).toEqual({
      kind: 'userDefined',
      userId: user_id,
      packetType: packet_type,
      data,
      experimental,
    })
  },
  'data extension': checkExtension,
  timestamp: checkTime,
  frequency: checkFrequency,
}
