// Limits of other countries and bodies, all from memory: nobody held these figures against the published text here, and the
// screen says so. What could be held against something are the tables themselves: neighbouring rows meet at their border,
// and E, H and S of a row are one plane wave (test/exposure/limitSets.test.ts).
import { type Environment, type ExposureLimit, type LimitSet, usLimits } from './limits.js'

/** Sets by the name that the configuration and the command line use. */
export const limitSetNames = [
  '47cfr1.1310',
  'icnirp-1998',
  'icnirp-2020',
  'safety-code-6',
  'own',
] as const
export type LimitSetName = (typeof limitSetNames)[number]

/** A limit of one's own, for a country whose rules are not among the sets. */
export interface OwnLimits {
  readonly generalWPerM2: number
  /** that of everybody where absent */
  readonly occupationalWPerM2?: number | undefined
  readonly averagingMinutes: number
}

/** @throws RangeError for 'own' without figures */
export function limitSetOf(name: LimitSetName, own?: OwnLimits): LimitSet {
  switch (name) {
    case '47cfr1.1310':
      return usLimits
    case 'icnirp-1998':
      return icnirp1998
    case 'icnirp-2020':
      return icnirp2020
    case 'safety-code-6':
      return safetyCode6
    default:
      if (own === undefined) throw new RangeError('limits of one’s own need their figures')
      return ownLimits(own)
  }
}

/** Fields and density of one row, by frequency in MHz. */
interface Row {
  readonly toMHz: number
  readonly eVPerM?: (f: number) => number
  readonly hAPerM?: (f: number) => number
  readonly sWPerM2: (f: number) => number
}
type Rows = Readonly<Record<Environment, readonly Row[]>>

function limitOf(
  rows: Rows,
  environment: Environment,
  frequencyMHz: number,
  averagingMinutes: number,
  over?: 'whole body' | 'part of the body',
): ExposureLimit {
  const row = rows[environment].find(({ toMHz }) => frequencyMHz <= toMHz)!
  return {
    environment,
    powerDensityMwCm2: row.sWPerM2(frequencyMHz) / 10,
    electricFieldVPerM: row.eVPerM?.(frequencyMHz),
    magneticFieldAPerM: row.hAPerM?.(frequencyMHz),
    averagingMinutes,
    planeWaveEquivalent: false,
    ...(over === undefined ? {} : { over }),
  }
}

const fixed = (value: number) => () => value
const power = (factor: number, exponent: number) => (f: number) => factor * f ** exponent

/** ICNIRP 1998, reference levels from 10 MHz up (tables 6 and 7 of the guidelines), from memory. */
const rows1998: Rows = {
  occupational: [
    { toMHz: 400, eVPerM: fixed(61), hAPerM: fixed(0.16), sWPerM2: fixed(10) },
    { toMHz: 2000, eVPerM: power(3, 0.5), hAPerM: power(0.008, 0.5), sWPerM2: (f) => f / 40 },
    { toMHz: 300_000, eVPerM: fixed(137), hAPerM: fixed(0.36), sWPerM2: fixed(50) },
  ],
  general: [
    { toMHz: 400, eVPerM: fixed(28), hAPerM: fixed(0.073), sWPerM2: fixed(2) },
    { toMHz: 2000, eVPerM: power(1.375, 0.5), hAPerM: power(0.0037, 0.5), sWPerM2: (f) => f / 200 },
    { toMHz: 300_000, eVPerM: fixed(61), hAPerM: fixed(0.16), sWPerM2: fixed(10) },
  ],
}

export const icnirp1998: LimitSet = {
  title: 'ICNIRP 1998 (general: 1999/519/EC)',
  source:
    'ICNIRP guidelines of 1998, tables 6 and 7; Council Recommendation 1999/519/EC, annex III',
  checked: false,
  unit: 'W/m2',
  fromMHz: 10,
  toMHz: 300_000,
  limitsOf: (environment, frequencyMHz) => [
    limitOf(rows1998, environment, frequencyMHz, averagingOf1998Minutes(frequencyMHz)),
  ],
}

/** Six minutes up to 10 GHz, above it 68 / f^1.05 with f in GHz. */
const averagingOf1998Minutes = (frequencyMHz: number): number =>
  frequencyMHz <= 10_000 ? 6 : 68 / (frequencyMHz / 1000) ** 1.05

/** ICNIRP 2020, table 5: whole body, averaged over 30 minutes. From memory, from 30 MHz up. */
const wholeBody2020: Rows = {
  occupational: [
    { toMHz: 400, eVPerM: fixed(61), hAPerM: fixed(0.16), sWPerM2: fixed(10) },
    { toMHz: 2000, eVPerM: power(3, 0.5), hAPerM: power(0.008, 0.5), sWPerM2: (f) => f / 40 },
    { toMHz: 300_000, sWPerM2: fixed(50) },
  ],
  general: [
    { toMHz: 400, eVPerM: fixed(27.7), hAPerM: fixed(0.073), sWPerM2: fixed(2) },
    { toMHz: 2000, eVPerM: power(1.375, 0.5), hAPerM: power(0.0037, 0.5), sWPerM2: (f) => f / 200 },
    { toMHz: 300_000, sWPerM2: fixed(10) },
  ],
}

/** ICNIRP 2020, table 6: part of the body, averaged over 6 minutes. From memory, from 30 MHz up. */
const partOfBody2020: Rows = {
  occupational: [
    { toMHz: 400, eVPerM: fixed(139), hAPerM: fixed(0.36), sWPerM2: fixed(50) },
    {
      toMHz: 2000,
      eVPerM: power(10.58, 0.43),
      hAPerM: power(0.0274, 0.43),
      sWPerM2: power(0.29, 0.86),
    },
    { toMHz: 6000, sWPerM2: fixed(200) },
    { toMHz: 300_000, sWPerM2: (f) => 275 / (f / 1000) ** 0.177 },
  ],
  general: [
    { toMHz: 400, eVPerM: fixed(62), hAPerM: fixed(0.163), sWPerM2: fixed(10) },
    {
      toMHz: 2000,
      eVPerM: power(4.72, 0.43),
      hAPerM: power(0.0123, 0.43),
      sWPerM2: power(0.058, 0.86),
    },
    { toMHz: 6000, sWPerM2: fixed(40) },
    { toMHz: 300_000, sWPerM2: (f) => 55 / (f / 1000) ** 0.177 },
  ],
}

export const icnirp2020: LimitSet = {
  title: 'ICNIRP 2020',
  source: 'ICNIRP guidelines of 2020 (100 kHz to 300 GHz), tables 5 and 6',
  checked: false,
  unit: 'W/m2',
  fromMHz: 30,
  toMHz: 300_000,
  limitsOf: (environment, frequencyMHz) => [
    limitOf(wholeBody2020, environment, frequencyMHz, 30, 'whole body'),
    limitOf(partOfBody2020, environment, frequencyMHz, 6, 'part of the body'),
  ],
}

/** Safety Code 6 (2015), tables 5 and 6: controlled and uncontrolled environments from 10 MHz up, from memory. */
const rowsCanada: Rows = {
  occupational: [
    { toMHz: 20, eVPerM: fixed(61.4), hAPerM: fixed(0.163), sWPerM2: fixed(10) },
    {
      toMHz: 48,
      eVPerM: power(129.8, -0.25),
      hAPerM: power(0.3444, -0.25),
      sWPerM2: power(44.72, -0.5),
    },
    { toMHz: 100, eVPerM: fixed(49.33), hAPerM: fixed(0.1309), sWPerM2: fixed(6.455) },
    {
      toMHz: 6000,
      eVPerM: power(15.6, 0.25),
      hAPerM: power(0.04138, 0.25),
      sWPerM2: power(0.6455, 0.5),
    },
    { toMHz: 15_000, eVPerM: fixed(137), hAPerM: fixed(0.364), sWPerM2: fixed(50) },
  ],
  general: [
    { toMHz: 20, eVPerM: fixed(27.46), hAPerM: fixed(0.0728), sWPerM2: fixed(2) },
    {
      toMHz: 48,
      eVPerM: power(58.07, -0.25),
      hAPerM: power(0.154, -0.25),
      sWPerM2: power(8.944, -0.5),
    },
    { toMHz: 300, eVPerM: fixed(22.06), hAPerM: fixed(0.05852), sWPerM2: fixed(1.291) },
    {
      toMHz: 6000,
      // biome-ignore lint/suspicious/noApproximativeNumericConstant: the table's own factor, not pi
      eVPerM: power(3.142, 0.3417),
      hAPerM: power(0.008335, 0.3417),
      sWPerM2: power(0.02619, 0.6834),
    },
    { toMHz: 15_000, eVPerM: fixed(61.4), hAPerM: fixed(0.163), sWPerM2: fixed(10) },
  ],
}

export const safetyCode6: LimitSet = {
  title: "Canada's Safety Code 6 (2015)",
  source: 'Health Canada, Safety Code 6 (2015), tables 5 and 6',
  checked: false,
  unit: 'W/m2',
  fromMHz: 10,
  toMHz: 15_000,
  limitsOf: (environment, frequencyMHz) => [limitOf(rowsCanada, environment, frequencyMHz, 6)],
}

function ownLimits({ generalWPerM2, occupationalWPerM2, averagingMinutes }: OwnLimits): LimitSet {
  const rows: Rows = {
    occupational: [{ toMHz: 300_000, sWPerM2: fixed(occupationalWPerM2 ?? generalWPerM2) }],
    general: [{ toMHz: 300_000, sWPerM2: fixed(generalWPerM2) }],
  }
  return {
    title: 'limits of your own',
    source: 'the configuration or the command line',
    checked: true,
    unit: 'W/m2',
    fromMHz: 0.1,
    toMHz: 300_000,
    limitsOf: (environment, frequencyMHz) => [
      limitOf(rows, environment, frequencyMHz, averagingMinutes),
    ],
  }
}
