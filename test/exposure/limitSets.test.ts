// Nobody held these sets against their published text: the figures stand here as they stand in memory, written down once
// more in the documents' own form. What can be checked is that a row is one plane wave (E H = S, E^2 = 377 S) and that
// neighbouring rows meet at their border, which a slip of memory or of the hand would break.
import { describe, expect, it } from 'vitest'
import { exposureSection } from '../../src/config/sections/exposure.js'
import {
  icnirp1998,
  icnirp2020,
  limitSetNames,
  limitSetOf,
  safetyCode6,
} from '../../src/exposure/limitSets.js'
import type { Environment, LimitSet } from '../../src/exposure/limits.js'

const environments: readonly Environment[] = ['occupational', 'general']

/** S in W/m2 of the set's n-th limit. */
const density = (set: LimitSet, environment: Environment, mhz: number, nth = 0): number =>
  set.limitsOf(environment, mhz)[nth]!.powerDensityMwCm2 * 10

describe('values (from memory)', () => {
  it.each<[string, LimitSet, number, number, number, number, number?]>([
    // set, MHz, S occupational and general in W/m2, minutes
    ['ICNIRP 1998', icnirp1998, 10, 10, 2, 6],
    ['ICNIRP 1998', icnirp1998, 145, 10, 2, 6],
    ['ICNIRP 1998', icnirp1998, 435, 10.875, 2.175, 6],
    ['ICNIRP 1998', icnirp1998, 1296, 32.4, 6.48, 6],
    ['ICNIRP 1998', icnirp1998, 5700, 50, 10, 6],
    ['ICNIRP 1998', icnirp1998, 24_000, 50, 10, 68 / 24 ** 1.05],
    ['ICNIRP 2020, whole body', icnirp2020, 145, 10, 2, 30],
    ['ICNIRP 2020, whole body', icnirp2020, 435, 10.875, 2.175, 30],
    ['ICNIRP 2020, whole body', icnirp2020, 5700, 50, 10, 30],
    ['ICNIRP 2020, part of the body', icnirp2020, 145, 50, 10, 6, 1],
    ['ICNIRP 2020, part of the body', icnirp2020, 435, 53.889, 10.778, 6, 1],
    ['ICNIRP 2020, part of the body', icnirp2020, 5700, 200, 40, 6, 1],
    ['Safety Code 6', safetyCode6, 15, 10, 2, 6],
    ['ICNIRP 2020, part of the body', icnirp2020, 10_000, 182.95, 36.59, 6, 1],
    ['Safety Code 6', safetyCode6, 30, 8.165, 1.633, 6],
    ['Safety Code 6', safetyCode6, 50, 6.455, 1.291, 6],
    ['Safety Code 6', safetyCode6, 145, 7.773, 1.291, 6],
    ['Safety Code 6', safetyCode6, 435, 13.463, 1.665, 6],
    ['Safety Code 6', safetyCode6, 10_000, 50, 10, 6],
  ])('%s at %d MHz', (_, set, mhz, occupational, general, minutes, nth = 0) => {
    expect(density(set, 'occupational', mhz, nth)).toBeCloseTo(occupational, 2)
    expect(density(set, 'general', mhz, nth)).toBeCloseTo(general, 2)
    expect(set.limitsOf('general', mhz)[nth]!.averagingMinutes).toBeCloseTo(minutes, 9)
  })

  it.each<[string, LimitSet, number, number, number, number, number, number?]>([
    // set, MHz, E occupational and general in V/m, H likewise in A/m
    ['ICNIRP 1998', icnirp1998, 145, 61, 28, 0.16, 0.073],
    ['ICNIRP 1998', icnirp1998, 1296, 108, 49.5, 0.288, 0.1332],
    ['ICNIRP 1998', icnirp1998, 5700, 137, 61, 0.36, 0.16],
    ['ICNIRP 2020, whole body', icnirp2020, 145, 61, 27.7, 0.16, 0.073],
    ['ICNIRP 2020, whole body', icnirp2020, 1296, 108, 49.5, 0.288, 0.1332],
    ['ICNIRP 2020, part of the body', icnirp2020, 145, 139, 62, 0.36, 0.163, 1],
    ['ICNIRP 2020, part of the body', icnirp2020, 435, 144.217, 64.339, 0.3735, 0.1677, 1],
    ['Safety Code 6', safetyCode6, 15, 61.4, 27.46, 0.163, 0.0728],
    ['Safety Code 6', safetyCode6, 30, 55.463, 24.813, 0.1472, 0.0658],
    ['Safety Code 6', safetyCode6, 50, 49.33, 22.06, 0.1309, 0.0585],
    ['Safety Code 6', safetyCode6, 435, 71.244, 25.049, 0.189, 0.0664],
    ['Safety Code 6', safetyCode6, 10_000, 137, 61.4, 0.364, 0.163],
  ])(
    'fields of %s at %d MHz',
    (_, set, mhz, eOccupational, eGeneral, hOccupational, hGeneral, nth = 0) => {
      const fieldsOf = (environment: Environment) => {
        const { electricFieldVPerM, magneticFieldAPerM } = set.limitsOf(environment, mhz)[nth]!
        return [electricFieldVPerM!, magneticFieldAPerM!] as const
      }
      const near = (value: number, wanted: number): void =>
        expect(Math.abs(value / wanted - 1), `${value}, ${wanted}`).toBeLessThan(0.001)
      const [e, h] = fieldsOf('occupational')
      near(e, eOccupational)
      near(h, hOccupational)
      const [eOfAll, hOfAll] = fieldsOf('general')
      near(eOfAll, eGeneral)
      near(hOfAll, hGeneral)
    },
  )

  it('at 144 MHz the public limit of ICNIRP is that of 47 CFR 1.1310 (an amateur article says so)', () => {
    for (const environment of environments) {
      const us = density(limitSetOf('47cfr1.1310'), environment, 144)
      expect(density(icnirp1998, environment, 144)).toBeCloseTo(us, 9)
      expect(density(icnirp2020, environment, 144)).toBeCloseTo(us, 9)
      expect(density(safetyCode6, environment, 144)).toBeLessThan(us)
    }
  })
})

describe.each([
  ['ICNIRP 1998', icnirp1998, [400, 2000]],
  ['ICNIRP 2020', icnirp2020, [400, 2000, 6000]],
  ['Safety Code 6', safetyCode6, [20, 48, 100, 300, 6000]],
] as const)('%s', (_, set, borders) => {
  it('neighbouring rows meet within 8 %', () => {
    for (const environment of environments)
      for (const border of borders)
        for (const nth of set.limitsOf(environment, border).keys()) {
          const below = density(set, environment, border, nth)
          const above = density(set, environment, border * 1.000_001, nth)
          expect(above / below, `${environment} at ${border} MHz`).toBeGreaterThan(0.92)
          expect(above / below, `${environment} at ${border} MHz`).toBeLessThan(1.08)
        }
  })

  it('field strengths and density are those of one plane wave within 8 %', () => {
    for (const environment of environments)
      for (const mhz of [set.fromMHz, 30, 47, 99, 145, 299, 435, 1296, 2400, 5900, set.toMHz]) {
        for (const limit of set.limitsOf(environment, Math.max(mhz, set.fromMHz))) {
          const { electricFieldVPerM: e, magneticFieldAPerM: h } = limit
          if (e === undefined || h === undefined) continue
          const s = limit.powerDensityMwCm2 * 10
          expect(e ** 2 / 377 / s, `${environment} at ${mhz} MHz`).toBeCloseTo(1, 0.8)
          expect(Math.abs((e * h) / s - 1), `${environment} at ${mhz} MHz`).toBeLessThan(0.08)
        }
      }
  })
})

it('each name has its set, and own limits need figures', () => {
  for (const name of limitSetNames.filter((one) => one !== 'own'))
    expect(limitSetOf(name).title).not.toBe('')
  expect(() => limitSetOf('own')).toThrow(RangeError)
  const own = limitSetOf('own', { generalWPerM2: 2, averagingMinutes: 6 })
  expect(density(own, 'general', 145)).toBe(2)
  expect(density(own, 'occupational', 145)).toBe(2)
})

it('the configuration takes every set by its name, and no other', () => {
  expect(exposureSection.shape.limits.unwrap().options).toEqual([...limitSetNames])
})

describe('what is said of a set', () => {
  it('names its text and its unit, and that nobody checked it, unless it is one’s own', () => {
    const said = limitSetNames.map((name) => {
      const { title, source, checked, unit, fromMHz, toMHz } = limitSetOf(name, {
        generalWPerM2: 2,
        averagingMinutes: 6,
      })
      return [title, source, checked, unit, fromMHz, toMHz]
    })
    expect(said).toMatchInlineSnapshot(`
      [
        [
          "47 CFR 1.1310",
          "47 CFR 1.1310, Table 1",
          true,
          "mW/cm2",
          0.3,
          100000,
        ],
        [
          "ICNIRP 1998 (general: 1999/519/EC)",
          "ICNIRP guidelines of 1998, tables 6 and 7; Council Recommendation 1999/519/EC, annex III",
          false,
          "W/m2",
          10,
          300000,
        ],
        [
          "ICNIRP 2020",
          "ICNIRP guidelines of 2020 (100 kHz to 300 GHz), tables 5 and 6",
          false,
          "W/m2",
          30,
          300000,
        ],
        [
          "Canada's Safety Code 6 (2015)",
          "Health Canada, Safety Code 6 (2015), tables 5 and 6",
          false,
          "W/m2",
          10,
          15000,
        ],
        [
          "limits of your own",
          "the configuration or the command line",
          true,
          "W/m2",
          0.1,
          300000,
        ],
      ]
    `)
  })

  it('tells the limit over the whole body from that over a part of it', () => {
    const over = (set: LimitSet) => set.limitsOf('general', 145).map((limit) => limit.over)
    expect(over(icnirp2020)).toEqual(['whole body', 'part of the body'])
    expect(over(icnirp1998)).toEqual([undefined])
  })
})
