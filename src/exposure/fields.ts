// Far-field formulas of OET Bulletin 65 (edition 97-01). Equation numbers are from memory except number 9.

/** How much stronger the ground makes the field where a person stands. */
export type Reflection = 'free' | 'average' | 'worst'

/**
 * Factor on power density: free space (equation 3), the environment agency's typical ground (field x 1.6,
 * equation 8), and the worst case of a field that doubles (equation 6).
 */
export const reflectionFactors: Readonly<Record<Reflection, number>> = {
  free: 1,
  average: 2.56,
  worst: 4,
}

/** Impedance of free space as the bulletin rounds it, ohms. */
const freeSpaceOhm = 377

/** m; speed of light over frequency */
export const wavelengthM = (frequencyMHz: number): number => 299.792458 / frequencyMHz

export const metresPerFoot = 0.3048

/** Linear power ratio of a figure in dB. */
export const ratioOfDb = (db: number): number => 10 ** (db / 10)

/** Gain of a half-wave dipole over an isotropic antenna as the rules round it (1.64, or 2.15 dB). */
export const dipoleGain = 1.64

/** Effective radiated power (over a dipole) of a power over an isotropic antenna. @see 47 CFR 2.1 */
export const erpOfEirp = (eirpW: number): number => eirpW / dipoleGain

/** W over an isotropic antenna, from the power that reaches the antenna and its gain in dBi. */
export const eirpW = (powerAtAntennaW: number, gainDbi: number): number =>
  powerAtAntennaW * ratioOfDb(gainDbi)

/**
 * Power density in the main beam.
 * @param distanceM above 0: at the antenna itself the formula has no meaning
 * @returns mW/cm2 (1 mW/cm2 = 10 W/m2)
 * @throws RangeError for a distance that is not above 0
 * @see OET Bulletin 65 equations 3, 6, 8; checked in test/published/exposure.test.ts
 */
export function powerDensityMwCm2(
  eirpWatts: number,
  distanceM: number,
  reflection: Reflection,
): number {
  checkDistance(distanceM)
  const wattsPerM2 = (reflectionFactors[reflection] * eirpWatts) / (4 * Math.PI * distanceM ** 2)
  return wattsPerM2 / 10
}

/**
 * Electric field in the main beam, V/m: sqrt(30 EIRP) / R, times the square root of the reflection factor.
 * @throws RangeError for a distance that is not above 0
 */
export function electricFieldVPerM(
  eirpWatts: number,
  distanceM: number,
  reflection: Reflection,
): number {
  checkDistance(distanceM)
  return Math.sqrt(30 * eirpWatts * reflectionFactors[reflection]) / distanceM
}

/** Magnetic field of a plane wave, A/m. @throws as electricFieldVPerM */
export const magneticFieldAPerM = (
  eirpWatts: number,
  distanceM: number,
  reflection: Reflection,
): number => electricFieldVPerM(eirpWatts, distanceM, reflection) / freeSpaceOhm

/**
 * Distance in the main beam at which the density falls to a limit, m; 0 where nothing is radiated.
 * @see OET Bulletin 65 equations 3, 6, 8 solved for R
 */
export const distanceToLimitM = (
  eirpWatts: number,
  limitMwCm2: number,
  reflection: Reflection,
): number =>
  Math.sqrt((reflectionFactors[reflection] * eirpWatts) / (4 * Math.PI * limitMwCm2 * 10))

/** Within this distance of any antenna the reactive near field rules: lambda / (2 pi), m. */
export const reactiveNearFieldM = (frequencyMHz: number): number =>
  wavelengthM(frequencyMHz) / (2 * Math.PI)

/** The far field of an antenna of this largest dimension begins here: 2 D^2 / lambda, m (common practice). */
export const farFieldFromM = (frequencyMHz: number, antennaSizeM: number): number =>
  (2 * antennaSizeM ** 2) / wavelengthM(frequencyMHz)

function checkDistance(distanceM: number): void {
  if (!(distanceM > 0)) throw new RangeError(`distance: got ${distanceM} m, expected above 0`)
}
