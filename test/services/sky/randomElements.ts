import { json2satrec, type OMMJsonObject } from 'satellite.js'
import type { Random } from '../../../src/runtime/random.js'
import { type ElementSet, elementSetOf } from '../../../src/services/sky/elementSet.js'
import { twoLineChecksum } from '../../../src/services/sky/twoLine.js'

/** Mean motion (revolutions a day), eccentricity, inclination (degrees) and drag, each from a range; and how common it is. */
interface Family {
  readonly name: string
  readonly share: number
  readonly motion: readonly [number, number]
  readonly eccentricity: readonly [number, number]
  readonly inclinationDeg: readonly [number, number]
  readonly bstar: readonly [number, number]
}

/** Shapes of orbits as they are up there, in round figures (common knowledge, no source); the satellites are invented. */
export const families: readonly Family[] = [
  {
    ...{ name: 'low', share: 0.7, motion: [13, 15.6], eccentricity: [0, 0.02] },
    ...{ inclinationDeg: [0, 110], bstar: [0, 4e-4] },
  },
  {
    ...{ name: 'falling', share: 0.03, motion: [15.8, 16.3], eccentricity: [0, 0.01] },
    ...{ inclinationDeg: [20, 100], bstar: [1e-4, 5e-2] },
  },
  {
    ...{ name: 'low and eccentric', share: 0.07, motion: [8, 13.5], eccentricity: [0.05, 0.3] },
    ...{ inclinationDeg: [0, 150], bstar: [-1e-4, 1e-3] },
  },
  {
    ...{ name: 'middle', share: 0.06, motion: [1.8, 2.2], eccentricity: [0, 0.03] },
    ...{ inclinationDeg: [50, 66], bstar: [0, 1e-4] },
  },
  {
    ...{ name: 'standing', share: 0.08, motion: [0.9, 1.1], eccentricity: [0, 0.02] },
    ...{ inclinationDeg: [0, 16], bstar: [0, 0] },
  },
  {
    ...{ name: 'slow and eccentric', share: 0.06, motion: [2, 5], eccentricity: [0.4, 0.72] },
    ...{ inclinationDeg: [5, 66], bstar: [0, 1e-3] },
  },
]

/** Angles in degrees, mean motion in revolutions a day. */
interface Figures {
  readonly epochWallMs: number
  readonly motion: number
  readonly eccentricity: number
  readonly inclinationDeg: number
  readonly nodeDeg: number
  readonly perigeeDeg: number
  readonly anomalyDeg: number
  readonly bstar: number
}

function randomFigures(
  random: Random,
  aboutWallMs: number,
  ageMaxDays: number,
  family: Family,
): Figures {
  const between = ([from, to]: readonly [number, number]): number => from + random() * (to - from)
  return {
    epochWallMs: Math.round(aboutWallMs + (2 * random() - 1) * ageMaxDays * 86_400_000),
    motion: between(family.motion),
    eccentricity: between(family.eccentricity),
    inclinationDeg: between(family.inclinationDeg),
    nodeDeg: between([0, 360]),
    perigeeDeg: between([0, 360]),
    anomalyDeg: between([0, 360]),
    bstar: between(family.bstar),
  }
}

/** An invented satellite, its epoch within `ageMaxDays` of a time, on either side. */
export function randomElements(
  random: Random,
  number: number,
  aboutWallMs: number,
  ageMaxDays: number,
  family = pick(random),
): ElementSet | undefined {
  const figures = randomFigures(random, aboutWallMs, ageMaxDays, family)
  const omm = {
    EPOCH: new Date(figures.epochWallMs).toISOString(),
    NORAD_CAT_ID: String(number),
    MEAN_MOTION: figures.motion,
    ECCENTRICITY: figures.eccentricity,
    INCLINATION: figures.inclinationDeg,
    RA_OF_ASC_NODE: figures.nodeDeg,
    ARG_OF_PERICENTER: figures.perigeeDeg,
    MEAN_ANOMALY: figures.anomalyDeg,
    BSTAR: figures.bstar,
    ...{ MEAN_MOTION_DOT: 0, MEAN_MOTION_DDOT: 0 },
  } as unknown as OMMJsonObject
  return elementSetOf(`INVENTED ${number}`, () => json2satrec(omm))
}

/** The same as three lines of a file: a name and two lines. */
export function randomTwoLines(
  random: Random,
  number: number,
  aboutWallMs: number,
  ageMaxDays: number,
): string {
  const figures = randomFigures(random, aboutWallMs, ageMaxDays, pick(random))
  const epoch = new Date(figures.epochWallMs)
  const day = (figures.epochWallMs - Date.UTC(epoch.getUTCFullYear(), 0, 1)) / 86_400_000 + 1
  const year = String(epoch.getUTCFullYear() % 100).padStart(2, '0')
  const catalog = String(number).padStart(5, '0')
  const angle = (deg: number): string => deg.toFixed(4).padStart(8)
  const eccentricity = figures.eccentricity.toFixed(7).slice(2)
  const first = `1 ${catalog}U 26001A   ${year}${day.toFixed(8).padStart(12, '0')}  .00000000  00000-0 ${drag(figures.bstar)} 0  999`
  const second = `2 ${catalog} ${angle(figures.inclinationDeg)} ${angle(figures.nodeDeg)} ${eccentricity} ${angle(figures.perigeeDeg)} ${angle(figures.anomalyDeg)} ${figures.motion.toFixed(8).padStart(11)}00001`
  const lines = [first, second].map((line) => `${line}${twoLineChecksum(line)}`)
  return `INVENTED ${number}\n${lines.join('\n')}\n`
}

/** ` 12345-3` is 0.12345e-3 */
function drag(bstar: number): string {
  if (bstar === 0) return ' 00000-0'
  const exponent = Math.floor(Math.log10(Math.abs(bstar))) + 1
  const digits = Math.round((Math.abs(bstar) / 10 ** exponent) * 1e5)
  const shown = Math.min(digits, 99_999)
  return `${bstar < 0 ? '-' : ' '}${shown}${exponent > 0 ? '+' : '-'}${Math.abs(exponent)}`
}

function pick(random: Random): Family {
  let rest = random()
  for (const family of families) {
    rest -= family.share
    if (rest < 0) return family
  }
  return families[0]!
}
