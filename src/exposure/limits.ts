// What every set of exposure limits has in common, and maximum permissible exposure by 47 CFR 1.1310, Table 1.
// Frequencies in MHz, power density in mW/cm2 (1 mW/cm2 = 10 W/m2).

/** occupational: people who know of the exposure and can end it; general: everybody else */
export type Environment = 'occupational' | 'general'

/** Limit at one frequency; where a set gives no field strength, it is undefined. */
export interface ExposureLimit {
  readonly environment: Environment
  readonly powerDensityMwCm2: number
  readonly electricFieldVPerM: number | undefined
  readonly magneticFieldAPerM: number | undefined
  /** time over which exposure may be averaged */
  readonly averagingMinutes: number
  /** the power density is the plane-wave equivalent of field limits */
  readonly planeWaveEquivalent: boolean
  /** what the average is taken over, where the set tells them apart */
  readonly over?: 'whole body' | 'part of the body'
}

/** A published set of limits, or one of somebody's own. */
export interface LimitSet {
  readonly title: string
  /** where its figures can be read */
  readonly source: string
  /** false where the figures stand here from memory: the screen says so */
  readonly checked: boolean
  /** what the set itself states power densities in */
  readonly unit: 'mW/cm2' | 'W/m2'
  /** lowest and highest frequency that it is kept for here */
  readonly fromMHz: number
  readonly toMHz: number
  /** limits that all have to be kept at once; the caller stays between `fromMHz` and `toMHz` */
  readonly limitsOf: (
    environment: Environment,
    frequencyMHz: number,
  ) => readonly [ExposureLimit, ...ExposureLimit[]]
}

/** Lowest and highest frequency that 1.1310 Table 1 covers. */
export const limitsFromMHz = 0.3
export const limitsToMHz = 100_000

/**
 * 47 CFR 1.1310, the set that is used where none is named.
 * At a border the lower row holds: they agree, but for 1.34 MHz where it is the stricter.
 */
export const usLimits: LimitSet = {
  title: '47 CFR 1.1310',
  source: '47 CFR 1.1310, Table 1',
  checked: true,
  unit: 'mW/cm2',
  fromMHz: limitsFromMHz,
  toMHz: limitsToMHz,
  limitsOf: (environment, frequencyMHz) => [usLimit(environment, frequencyMHz)],
}

/** 1.1310 Table 1, last column. */
const averagingMinutes: Readonly<Record<Environment, number>> = {
  occupational: 6,
  general: 30,
}

function usLimit(environment: Environment, frequencyMHz: number): ExposureLimit {
  const row = tables[environment].find(({ toMHz }) => frequencyMHz <= toMHz)!
  return {
    environment,
    powerDensityMwCm2: row.powerDensity(frequencyMHz),
    electricFieldVPerM: row.electricField?.(frequencyMHz),
    magneticFieldAPerM: row.magneticField?.(frequencyMHz),
    averagingMinutes: averagingMinutes[environment],
    planeWaveEquivalent: row.toMHz <= 30,
  }
}

interface Row {
  readonly toMHz: number
  readonly electricField?: (frequencyMHz: number) => number
  readonly magneticField?: (frequencyMHz: number) => number
  readonly powerDensity: (frequencyMHz: number) => number
}

const tables: Readonly<Record<Environment, readonly Row[]>> = {
  occupational: [
    { toMHz: 3, electricField: () => 614, magneticField: () => 1.63, powerDensity: () => 100 },
    {
      toMHz: 30,
      electricField: (f) => 1842 / f,
      magneticField: (f) => 4.89 / f,
      powerDensity: (f) => 900 / f ** 2,
    },
    { toMHz: 300, electricField: () => 61.4, magneticField: () => 0.163, powerDensity: () => 1 },
    { toMHz: 1500, powerDensity: (f) => f / 300 },
    { toMHz: 100_000, powerDensity: () => 5 },
  ],
  general: [
    { toMHz: 1.34, electricField: () => 614, magneticField: () => 1.63, powerDensity: () => 100 },
    {
      toMHz: 30,
      electricField: (f) => 824 / f,
      magneticField: (f) => 2.19 / f,
      powerDensity: (f) => 180 / f ** 2,
    },
    { toMHz: 300, electricField: () => 27.5, magneticField: () => 0.073, powerDensity: () => 0.2 },
    { toMHz: 1500, powerDensity: (f) => f / 1500 },
    { toMHz: 100_000, powerDensity: () => 1 },
  ],
}
