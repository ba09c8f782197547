import { expect } from 'vitest'
import { decodeBase91, encodeBase91 } from '../../src/aprs/base91.js'
import {
  decodeCompressedLongitude,
  decodeCompressionType,
  decodeMotion,
} from '../../src/aprs/compressed.js'
import {
  formatLatitude,
  formatLongitude,
  parseLatitude,
  parseLongitude,
} from '../../src/aprs/coordinates.js'
import { decodeMicEMotion, findLegacyTelemetry } from '../../src/aprs/micE.js'
import { positionOf } from '../../src/aprs/parse.js'
import { degreesMinutes, type Handler, pick, value } from './aprsExamples.js'
import {
  checkAll,
  feet,
  knots,
  miles,
  near,
  parseInfo,
  positionChecks,
} from './aprsExpectations.js'
/** Rows that are not a whole information field, or need more than the checks of their group. */
export const positionRows: Record<string, Handler> = {
  'pos-14': (pair) => {
    const payload = pick(parseInfo(pair.info!), 'locator')
    expect(payload).toMatchObject(pair.expect)
  },
  'pos-15': (pair) => {
    expect(pick(parseInfo(pair.info!), 'locator').locator).toBe(pair.expect.locator)
  },
  'pos-null': (pair) => {
    const payload = pick(parseInfo(pair.info!), 'position')
    checkAll(pair, payload, {
      ...positionChecks,
      meaning: () => expect(positionOf(payload)).toBeUndefined(),
    })
  },
  'fld-lat': (pair) => {
    const latitude = value(parseLatitude(pair.info!))
    const { deg, min, hemi, value: expected, text } = pair.expect
    near(latitude.degrees, expected as number)
    near(latitude.degrees, (deg as number) + (min as number) / 60, 9)
    expect(formatLatitude(latitude.degrees)).toBe(pair.info)
    expect(`${deg} 3 30 ${hemi}`).toBe(text)
  },
  'fld-lon': (pair) => {
    const longitude = value(parseLongitude(pair.info!))
    const { deg, min, hemi, value: expected, text } = pair.expect
    near(longitude.degrees, expected as number)
    near(-longitude.degrees, (deg as number) + (min as number) / 60, 9)
    expect(formatLongitude(longitude.degrees)).toBe(pair.info)
    expect(`${deg} 1 45 ${hemi}`).toBe(text)
  },
  'amb-box': (pair) => {
    // Values follow the addendum (a circle about the digits given), not the box of 1.0.1; but the
    // place must lie in that box, at the edge that the blanked digits name.
    const { position } = pick(parseInfo(`!${pair.info}`), 'position')
    expect(position.ambiguityDigits).toBe(pair.expect.ambiguity)
    const box = pair.expect.box as Record<string, string>
    expect(degreesMinutes(position.latitudeDeg, 'NS')).toBe(box.south)
    const longitude = degreesMinutes(position.longitudeDeg, 'EW')
    expect([box.west, longitude, box.east].sort()).toEqual([box.east, longitude, box.west])
  },
  'cmp-b91': (pair) => {
    expect(encodeBase91(Number(pair.info), 4)).toBe(pair.expect.base91)
    expect(value(decodeBase91(pair.expect.base91 as string))).toBe(Number(pair.info))
    const digits = [...(pair.expect.base91 as string)].map(
      (character) => character.charCodeAt(0) - 33,
    )
    expect(digits).toEqual(pair.expect.digits)
  },
  'cmp-lon': (pair) => {
    expect(value(decodeBase91(pair.info!))).toBe(pair.expect.value)
    near(value(decodeCompressedLongitude(pair.info!)), pair.expect.lon as number)
  },
  'cmp-cs': (pair) => {
    const motion = decodeMotion(pair.info!, value(decodeCompressionType('[')))
    expect(motion.courseDeg).toBe(pair.expect.course)
    near(knots(motion.speedKmh), pair.expect.speed_kn as number, 1)
    near(knots(motion.speedKmh), pair.expect.exact as number, 3)
  },
  'cmp-range': (pair) => {
    const motion = decodeMotion(pair.info!, value(decodeCompressionType('!')))
    expect(Math.round(miles(motion.rangeKm))).toBe(pair.expect.range_mi)
    near(miles(motion.rangeKm), pair.expect.exact as number, 4)
  },
  'cmp-alt': (pair) => {
    expect(value(decodeBase91(pair.info!))).toBe(pair.expect.cs)
    const motion = decodeMotion(pair.info!, value(decodeCompressionType('S')))
    expect(Math.trunc(feet(motion.altitudeM))).toBe(pair.expect.altitude_ft)
    near(feet(motion.altitudeM), pair.expect.exact as number, 2)
  },
  'cmp-T': (pair) => {
    const { value: number, ...meaning } = value(decodeCompressionType(pair.info!))
    expect(number).toBe(pair.expect.T)
    expect(number.toString(2).padStart(8, '0')).toBe(pair.expect.bits)
    expect(meaning).toEqual({
      fix: pair.expect.fix,
      sentence: pair.expect.nmea,
      origin: pair.expect.origin,
    })
  },
  'mice-sp-t': (pair) => {
    const motion = value(decodeMicEMotion(`${pair.info}\x1c\x1c`))
    expect(motion.speedKnots).toBe(pair.expect.speed_tens_kn)
  },
  'mice-86-194': (pair) => {
    const { SP, DC, SE } = pair.expect as { SP: string[]; DC: string[]; SE: string }
    for (const [index, sp] of SP.entries()) {
      const motion = value(decodeMicEMotion(sp + DC[index] + SE))
      expect(motion).toEqual({ speedKnots: pair.expect.speed_kn, courseDeg: pair.expect.course })
    }
  },
  'mice-73-294': (pair) => {
    const { SP, DC } = pair.expect as { SP: string[]; DC: string[] }
    for (const [index, sp] of SP.entries()) {
      const motion = value(decodeMicEMotion(`${sp}${DC[index]}z`))
      expect(motion.speedKnots % 10).toBe(pair.expect.speed_units)
      expect(Math.floor(motion.courseDeg / 100)).toBe(pair.expect.course_hundreds)
    }
  },
  'mice-alt': (pair) => {
    const payload = pick(parseInfo(`\`(_fn"Oj/${pair.info}`, 'S32UVT'), 'micE')
    expect(payload.altitudeM).toBe(pair.expect.meters)
    expect(Math.round(feet(payload.altitudeM))).toBe(pair.expect.feet)
    const digits = pair.expect.digits as number[]
    const sum = digits.reduce((total, digit) => total * 91 + digit, 0)
    expect(sum - (pair.expect.offset_m as number)).toBe(payload.altitudeM)
  },
  'mice-alt-pfx': (pair) => {
    const payload = pick(parseInfo(`\`(_fn"Oj/${pair.info}`, 'S32UVT'), 'micE')
    expect(payload.altitudeM).toBe(pair.expect.meters)
    expect(payload.radioPrefix).toBe(pair.expect.prefix)
  },
  'mice-loc': (pair) => {
    const payload = pick(parseInfo(`\`(_fn"Oj/${pair.info}`, 'S32UVT'), 'micE')
    expect(payload.locator).toBe(pair.expect.locator)
    expect(payload.comment).toBe(pair.expect.text)
    expect(pair.info!.slice(6, 8)).toBe(pair.expect.symbol)
  },
  'mice-tlm': (pair) => {
    expect(findLegacyTelemetry(pair.info!)?.telemetry.analog).toEqual(pair.expect.channels)
    const payload = pick(parseInfo(`\`(_fn"Oj/${pair.info}`, 'S32UVT'), 'micE')
    expect(payload.telemetry?.analog).toEqual(pair.expect.channels)
  },
  'mice-short': (pair) => {
    expect(pick(parseInfo(pair.info!, pair.dest), 'unreadable').reason).toMatch(/nine octets/)
  },
  'mice-addendum': (pair) => {
    // The addendum's own speed, destination and latitude disagree with the table; the table is
    // followed.
    const payload = pick(parseInfo(pair.info!, pair.dest), 'micE')
    expect(degreesMinutes(payload.position.longitudeDeg, 'EW')).toBe(pair.expect.lon_text)
    expect(payload.courseDeg).toBe(pair.expect.course)
    const table = pair.expect.table_decode as { lon: string; speed_kn: number; course: number }
    expect(degreesMinutes(payload.position.longitudeDeg, 'EW')).toBe(table.lon)
    near(knots(payload.speedKmh), table.speed_kn)
    expect(payload.courseDeg).toBe(table.course)
  },
  'item-short': (pair) => {
    expect(pick(parseInfo(pair.info!), 'unreadable').reason).toMatch(
      /2 characters: expected 3 to 9/,
    )
  },
}
