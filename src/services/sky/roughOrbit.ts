import type { ElementSet } from './elementSet.js'
import { periodMsOf, slowPeriodMs } from './look.js'

/** Where a satellite is, to a degree or some: reckoned in a microsecond, where SGP4 takes ten to a hundred. */
export interface RoughPlace {
  /** unit vector from the centre of the earth, in the frame of SGP4 (TEME) */
  readonly x: number
  readonly y: number
  readonly z: number
  /** SGP4's direction is within this of ours */
  readonly uncertaintyRad: number
}

// WGS72, as SGP4 has them: J2, J4, and the square root of GM in earth radii and minutes.
const j2 = 0.001082616
const j4 = -0.00000165597
const rootOfGm = 0.07436691613317
export const earthRadiusKm = 6378.135
const degree = Math.PI / 180

/** Semi-major axis in earth radii. */
export const semiMajorAxisOf = (set: ElementSet): number =>
  (rootOfGm / set.meanMotionRadPerMin) ** (2 / 3)

/** Fastest turn of its direction, at perigee, in radians a minute. */
export const fastestTurnRadPerMin = (set: ElementSet): number =>
  (set.meanMotionRadPerMin * Math.sqrt(1 - set.eccentricity ** 2)) / (1 - set.eccentricity) ** 2

/*
 * What SGP4 adds to the secular terms below: periodic terms of the earth's form (some tenths of a degree), the pull of sun,
 * moon and resonance on slow satellites, and drag beyond its first term, which is taken to be no more than that. The figures
 * are some times what test/services/sky/roughOrbit.test.ts finds.
 */
const uncertaintyRad = 0.5 * degree
const slowUncertaintyRad = 2.5 * degree
const slowUncertaintyPerDayRad = 0.06 * degree
const dragAngleMaxRad = 0.35
const decayMax = 0.001
const slowEccentricityMax = 0.1

/**
 * Kepler's motion with the secular terms of SGP4 (Spacetrack Report No. 3).
 * @returns undefined where nothing so simple holds: much drag, slow and eccentric
 */
export function roughPlace(set: ElementSet, wallMs: number): RoughPlace | undefined {
  const isSlow = periodMsOf(set) >= slowPeriodMs
  const { eccentricity, inclinationRad, meanMotionRadPerMin } = set
  if (isSlow && eccentricity > slowEccentricityMax) return undefined
  const minutes = (wallMs - set.epochWallMs) / 60_000
  const a = semiMajorAxisOf(set)
  const decay = decayRate(set, a)
  const dragAngle = 1.5 * decay * minutes * minutes * meanMotionRadPerMin
  if (Math.abs(dragAngle) > dragAngleMaxRad || Math.abs(decay * minutes) > decayMax)
    return undefined

  const { node, perigee, anomaly } = secularRates(set, a)
  const meanAnomaly = set.anomalyRad + anomaly * minutes + dragAngle
  const latitudeArgument =
    set.perigeeRad + perigee * minutes + trueAnomaly(meanAnomaly, eccentricity)
  const nodeRad = set.nodeRad + node * minutes
  const cosU = Math.cos(latitudeArgument)
  const sinU = Math.sin(latitudeArgument)
  const cosI = Math.cos(inclinationRad)
  const spread = isSlow
    ? slowUncertaintyRad + (slowUncertaintyPerDayRad * Math.abs(minutes)) / 1440
    : uncertaintyRad
  return {
    x: cosU * Math.cos(nodeRad) - sinU * Math.sin(nodeRad) * cosI,
    y: cosU * Math.sin(nodeRad) + sinU * Math.cos(nodeRad) * cosI,
    z: sinU * Math.sin(inclinationRad),
    uncertaintyRad: spread + Math.abs(dragAngle),
  }
}

/** Rates of node, argument of perigee and mean anomaly in radians a minute, by J2 and J4 (the report's section 6). */
function secularRates(set: ElementSet, a: number) {
  const { meanMotionRadPerMin: n, eccentricity, inclinationRad } = set
  const cos2 = Math.cos(inclinationRad) ** 2
  const cos4 = cos2 * cos2
  const beta2 = 1 - eccentricity ** 2
  const beta = Math.sqrt(beta2)
  const perP2 = 1 / (a * beta2) ** 2
  const first = 1.5 * j2 * perP2 * n
  const second = 0.5 * first * j2 * perP2
  const fourth = -0.46875 * j4 * perP2 * perP2 * n
  const anomaly =
    n + 0.5 * first * beta * (3 * cos2 - 1) + 0.0625 * second * beta * (13 - 78 * cos2 + 137 * cos4)
  const perigee =
    -0.5 * first * (1 - 5 * cos2) +
    0.0625 * second * (7 - 114 * cos2 + 395 * cos4) +
    fourth * (3 - 36 * cos2 + 49 * cos4)
  const node =
    (-first + 0.5 * second * (4 - 19 * cos2) + 2 * fourth * (3 - 7 * cos2)) *
    Math.cos(inclinationRad)
  return { node, perigee, anomaly }
}

/** C1 of the report: the share of the semi-major axis, by two, that drag takes each minute. */
function decayRate(set: ElementSet, a: number): number {
  const { eccentricity: e, meanMotionRadPerMin: n, inclinationRad, bstar } = set
  const perigeeKm = (a * (1 - e) - 1) * earthRadiusKm
  const s = perigeeKm >= 156 ? 78 : perigeeKm >= 98 ? perigeeKm - 78 : 20
  const xi = 1 / (a - (s / earthRadiusKm + 1))
  const eta = a * e * xi
  const eta2 = eta * eta
  const psi2 = Math.abs(1 - eta2)
  const shape = ((120 - s) / earthRadiusKm) ** 4 * xi ** 4 * psi2 ** -3.5
  const form = 3 * Math.cos(inclinationRad) ** 2 - 1
  return (
    bstar *
    shape *
    n *
    (a * (1 + 1.5 * eta2 + e * eta * (4 + eta2)) +
      ((0.375 * j2 * xi) / psi2) * form * (8 + 3 * eta2 * (8 + eta2)))
  )
}

/** Kepler's equation by Newton's method; a thousandth of a degree is plenty here. */
function trueAnomaly(meanAnomaly: number, e: number): number {
  const turns = Math.round(meanAnomaly / (2 * Math.PI))
  const m = meanAnomaly - turns * 2 * Math.PI
  let eccentric = m + e * Math.sin(m)
  for (let round = 0; round < 8; round++) {
    const step = (eccentric - e * Math.sin(eccentric) - m) / (1 - e * Math.cos(eccentric))
    eccentric -= step
    if (Math.abs(step) < 1e-5) break
  }
  return (
    2 *
    Math.atan2(
      Math.sqrt(1 + e) * Math.sin(eccentric / 2),
      Math.sqrt(1 - e) * Math.cos(eccentric / 2),
    )
  )
}
