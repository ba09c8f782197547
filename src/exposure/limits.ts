// Maximum permissible exposure, 47 CFR 1.1310, Table 1. Frequencies in MHz, power density in mW/cm2.

export type Environment = 'occupational' | 'general'

/** Limit at one frequency; above 300 MHz the rule gives no field strengths. */
export interface ExposureLimit {
  readonly environment: Environment
  readonly powerDensityMwCm2: number
  readonly electricFieldVPerM: number | undefined
  readonly magneticFieldAPerM: number | undefined
  /** time over which exposure may be averaged */
  readonly averagingMinutes: number
  /** below 30 MHz the power density is the plane-wave equivalent of the field limits */
  readonly planeWaveEquivalent: boolean
}

/** Lowest and highest frequency that Table 1 covers. */
export const limitsFromMHz = 0.3
export const limitsToMHz = 100_000

/**
 * Limit for one environment.
 * @returns undefined outside 0.3 MHz to 100 GHz, where the table says nothing
 * @see 47 CFR 1.1310 Table 1; at a border the lower row holds (they agree, but for 1.34 MHz where it is the stricter)
 */
export function exposureLimit(
  environment: Environment,
  frequencyMHz: number,
): ExposureLimit | undefined {
  if (!(frequencyMHz >= limitsFromMHz && frequencyMHz <= limitsToMHz)) return undefined
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

/** 1.1310 Table 1, last column. */
const averagingMinutes: Readonly<Record<Environment, number>> = {
  occupational: 6,
  general: 30,
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
