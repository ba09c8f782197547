import { expect } from 'vitest'
import { findAltitude } from '../../src/aprs/comment.js'
import { findDatumOption } from '../../src/aprs/dao.js'
import {
  antennaRangeKm,
  courseAndSpeed,
  parseBearing,
  parsePair,
  parseSignal,
} from '../../src/aprs/extension.js'
import { formatMessage, formatObject, formatPosition, formatStatus } from '../../src/aprs/format.js'
import { parseBeam } from '../../src/aprs/status.js'
import { describeTimestamp, parseMonthTimestamp, parseTimestamp } from '../../src/aprs/timestamp.js'
import type { AntennaReport } from '../../src/aprs/types.js'
import { findWeather } from '../../src/aprs/weather.js'
import {
  degreesMinutes,
  examplePlace,
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
  checkBearing,
  feet,
  knots,
  miles,
  near,
  parseInfo,
  positionChecks,
  published,
  textOf,
  weatherChecks,
} from './aprsExpectations.js'

/** a v² + b v + c (ch. 13). */
const evaluate = (v: number, [a, b, c]: readonly [number, number, number]): number =>
  a * v * v + b * v + c

/** What a station without PHG is taken for (ch. 7). */
const defaultAntenna: AntennaReport = {
  powerW: 10,
  heightAboveTerrainM: 20 * 0.3048,
  gainDb: 3,
  directionDeg: 'omni',
}

/** Rows that are not a whole information field, or need more than the checks of their group. */
export const otherRows: Record<string, Handler> = {
  'wx-lum': (pair) => {
    const both = pair.info!.split(' / ').map((text) => findWeather(text, false).weather)
    expect(both.map((weather) => weather.luminosityWattsPerM2)).toEqual(pair.expect.luminosity_w_m2)
  },
  'wx-blank': (pair) => {
    checkAll(pair, findWeather(pair.info!, false), weatherChecks)
  },
  'b91-pkt1': (pair) => {
    // Any valid destination will do; this one has longitude offset 0.
    const payload = pick(parseInfo(pair.info!, 'S32U6T'), 'micE')
    const datum = findDatumOption(pair.info!)!
    checkAll(pair, payload, {
      ...positionChecks,
      lon_minutes: () => {
        const minutes = (Math.abs(payload.position.longitudeDeg) % 1) * 60
        expect(Math.floor(minutes * 100) / 100).toBe(2.23)
        expect(Math.floor(Math.abs(payload.position.longitudeDeg))).toBe(84)
      },
      dao: (_: unknown, dao: { datum: string; A: number; O: number }) => {
        expect(datum.datum).toBe(dao.datum.toUpperCase())
        near(datum.latitudeMinutes, (dao.A * 1.1) / 10_000, 9)
        near(datum.longitudeMinutes, (dao.O * 1.1) / 10_000, 9)
        expect(payload.position.datum).toBe('W')
      },
      suffix: (_: unknown, suffix: string) => expect(payload.radioSuffix).toBe(suffix),
    })
    expect(payload.comment).toBe('')
  },
  'tlm-eval': (pair) => {
    const result = evaluate(199, [0, 5.2, 0])
    near(result, pair.expect.value as number)
    // The unit of the channel is v/100.
    near(result / 100, pair.expect.volts as number)
  },
  'tlm-eval2': (pair) => {
    const equations = published.pairs.find((other) => other.id === 'tlm-eqns')!
    const payload = pick(parseInfo(equations.info!), 'telemetryDefinition')
    if (payload.definition !== 'equations') throw new Error('not equations')
    const results = [255, 73, 123].map((v, at) => evaluate(v, payload.coefficients[at + 2]!))
    for (const [at, expected] of (pair.expect.values as number[]).entries())
      near(results[at], expected)
  },
  'msg-07': (pair) => {
    const payload = pick(parseInfo(pair.info!), 'acknowledgement')
    expect(payload.addressee).toBe(pair.expect.addressee)
    expect(payload.numberAsSent).toBe(pair.expect.number)
    expect(payload.number).toBe(pair.expect.matches)
  },
  'msg-09': (pair) => {
    const text = pair.info!.slice(11)
    expect(() => formatMessage({ addressee: 'TE6ST', text })).toThrow(RangeError)
    expect(pick(parseInfo(pair.info!), 'message').text).toBe(text)
  },
  'msg-10': (pair) => {
    expect(pick(parseInfo(pair.info!), 'unreadable').reason).toMatch(/nine characters of addressee/)
  },
  'msg-11': (pair) => {
    const payload = pick(parseInfo(pair.info!), 'message')
    expect(payload.number).toBeUndefined()
    expect(payload.text).toBe('text{123456')
    expect(payload.problem).toMatch(/1 to 5/)
  },
  'q-01': (pair) => {
    expect(pick(parseInfo(pair.info!), 'query').query).toBe(pair.expect.query)
    expect([
      examplePosition(),
      textOf(formatStatus({ text: 'Net Control Center', atWallMs: exampleWallMs })),
    ]).toEqual(pair.expect.response)
  },
  'q-02': (pair) => {
    const payload = pick(parseInfo(pair.info!), 'query')
    expect(payload.query).toBe(pair.expect.query)
    expect(payload.footprint?.latitudeDeg).toBe(pair.expect.lat)
    expect(payload.footprint?.longitudeDeg).toBe(pair.expect.lon)
    near(miles(payload.footprint?.radiusKm), pair.expect.radius_mi as number)
    const [malformed, status] = pair.expect.response as [string, string]
    expect(parseInfo(malformed).kind).toBe('unreadable')
    expect(textOf(formatStatus({ text: 'Digi on low power' }))).toBe(status)
  },
  'q-04': (pair) => {
    expect(pick(parseInfo(pair.info!), 'query').query).toBe(pair.expect.query)
    const [weather, position] = pair.expect.response as [string, string]
    const parsed = pick(parseInfo(weather), 'weather')
    near((parsed.weather.windSpeedMps! * 3600) / 1609.344, 4)
    near(parsed.weather.temperatureC!, 25)
    const sent = formatPosition({ ...examplePlace, atWallMs: Date.UTC(2026, 9, 9, 5, 56) })
    expect(textOf(sent)).toBe(position)
  },
  'ext-cse': (pair) => {
    const motion = courseAndSpeed(value(parsePair(pair.info!)))
    expect(motion.courseDeg).toBe(pair.expect.course)
    near(knots(motion.speedKmh), pair.expect.speed_kn as number)
  },
  'ext-dir': (pair) => {
    // Read as miles an hour in weather reports (ch. 12); here only the digits of ch. 7.
    const { first, second } = value(parsePair(pair.info!))
    expect(first).toBe(pair.expect.wind_dir)
    expect(second).toBe(pair.expect.wind_speed_kn)
  },
  'ext-phg-default': (pair) => {
    const range = miles(antennaRangeKm(defaultAntenna))
    near(range, pair.expect.range_mi_computed as number, 4)
    expect(Math.floor(range)).toBe(pair.expect.range_mi_text)
    const { powerW, gainDb, directionDeg, heightAboveTerrainM } = defaultAntenna
    const assumed = `${powerW} W, ${gainDb} dB ${directionDeg}, ${Math.round(feet(heightAboveTerrainM))} ft`
    expect(assumed).toBe(pair.expect.assume)
  },
  'ext-dfs': (pair) => checkAntenna(value(parseSignal(pair.info!)), pair.expect as never),
  'ext-nrq': (pair) => checkBearing(value(parseBearing(pair.info!)), pair.expect),
  'ext-nrq-r4': (pair) => {
    near(miles(value(parseBearing('/270/749')).rangeKm), pair.expect.range_mi as number)
  },
  'ext-alt': (pair) => {
    near(feet(findAltitude(pair.info!).altitudeM), pair.expect.altitude_ft as number)
  },
  'dao-1': (pair) => {
    const { position } = pick(parseInfo(`!${pair.info}`), 'position')
    expect(position.datum).toBe('W')
    expect(degreesMinutes(position.latitudeDeg, 'NS', 3)).toBe(pair.expect.lat)
    expect(degreesMinutes(position.longitudeDeg, 'EW', 3)).toBe(pair.expect.lon)
    near(position.latitudeDeg, pair.expect.lat_deg as number, 6)
    near(position.longitudeDeg, pair.expect.lon_deg as number, 6)
  },
  'dao-2': (pair) => {
    const { position } = pick(parseInfo(`!${pair.info}`), 'position')
    const option = findDatumOption(pair.info!)!
    const { A, O, scaled } = pair.expect as { A: number; O: number; scaled: [number, number] }
    near(option.latitudeMinutes * 10_000, scaled[0], 9)
    near(option.longitudeMinutes * 10_000, scaled[1], 9)
    near(A * 1.1, scaled[0], 9)
    near(O * 1.1, scaled[1], 9)
    near((position.latitudeDeg - 49) * 60, pair.expect.lat_min as number, 9)
    near((-position.longitudeDeg - 72) * 60, pair.expect.lon_min as number, 9)
    expect(position.datum).toBe('W')
  },
  'dao-null': (pair) => {
    const option = findDatumOption(pair.info!)!
    expect(option).toEqual({ datum: 'W', latitudeMinutes: 0, longitudeMinutes: 0, rest: '' })
    expect(pair.expect).toEqual({ datum: 'WGS84', extra_precision: null })
  },
  'ts-10092345': (pair) => {
    const time = value(parseMonthTimestamp(pair.info!))
    expect(describeTimestamp(time).replace('10-09', 'October 9')).toBe(pair.expect.meaning)
  },
  'ts-111111z': (pair) => {
    expect(value(parseTimestamp(pair.info!))).toMatchObject({ permanent: true })
  },
  'frq-obj': (pair) => {
    const payload = pick(parseInfo(pair.info!), 'object')
    expect(payload.name).toBe(pair.expect.name)
    expect(payload.timestamp).toMatchObject({ permanent: pair.expect.permanent })
    expect(payload.frequency?.frequencyMhz).toBe(146.94)
    checkAll(
      { ...pair, expect: { tone_hz: pair.expect.tone_hz, range_mi: pair.expect.range_mi } },
      payload.frequency,
      frequencyChecks,
    )
    const sent = formatObject({
      ...examplePlace,
      symbol: { table: '/', code: 'r' },
      name: '146.94-ab',
      live: true,
      permanent: true,
      comment: 'T079 R25m',
    })
    expect(textOf(sent)).toBe(pair.info)
  },
  'tp-01': (pair) => {
    const payload = pick(parseInfo(pair.info!), 'thirdParty')
    const inner = pick(payload.payload, 'message')
    expect({
      source: payload.source,
      dest: payload.destination,
      network: payload.path[0],
      gateway: payload.path[1]?.replace('*', ''),
      inner_type: inner.kind,
      addressee: inner.addressee,
      text: inner.text,
      number: inner.number,
    }).toEqual(pair.expect)
  },
  'tp-02': (pair) => {
    const inner = pick(pick(parseInfo(pair.info!), 'thirdParty').payload, 'position')
    checkAll(pair, inner, {
      ...positionChecks,
      inner_type: () => expect(inner.kind).toBe('position'),
    })
  },
  'tlm-unit': (pair) => {
    const payload = pick(parseInfo(pair.info!), 'telemetryDefinition')
    expect(payload).toMatchObject({ addressee: pair.expect.addressee, definition: 'units' })
    expect(pair.info!.slice(11, 15)).toBe(pair.expect.kind)
  },
  'tlm-eqns': (pair) => {
    const payload = pick(parseInfo(pair.info!), 'telemetryDefinition')
    expect(payload).toMatchObject({ definition: 'equations', coefficients: pair.expect.coeff })
    expect(pair.info!.slice(11, 15)).toBe(pair.expect.kind)
  },
  'st-beam': (pair) => {
    expect(value(parseBeam(pair.info!))).toEqual({
      beamHeadingDeg: pair.expect.beam_deg,
      radiatedPowerW: pair.expect.erp_w,
    })
  },
}
