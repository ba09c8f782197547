import {
  type EnvironmentEstimate,
  type ExposureEstimate,
  exposureAt,
  nearestOnGroundM,
  type TransmittingSite,
} from '../../exposure/estimate.js'
import { metresPerFoot, reflectionFactors } from '../../exposure/fields.js'
import { standingHeightM } from '../../exposure/geometry.js'
import { bandOf } from '../../regulations/amateurBands.js'
import { wrapped } from '../shared/finding.js'
import { textPlot } from '../shared/textPlot.js'

/** Figures that somebody can check, with units in words. */
export const significant = (value: number, digits = 3): string =>
  value === 0 ? '0' : String(Number(value.toPrecision(digits)))

/** "2.05 m (6.8 ft)", both rounded up: a minimum distance must not shrink by being printed. */
export const bothLengths = (metres: number): string =>
  `${roundedUp(metres, 100)} m (${roundedUp(metres / metresPerFoot, 10)} ft)`

const roundedUp = (value: number, parts: number): string =>
  String(Math.ceil(value * parts - 1e-9) / parts)

const percent = (share: number): string => `${significant(share * 100)} %`

/** Exposure over its limit; a limit that is missed by far needs no more figures. */
function ofLimit(share: number): string {
  if (share >= 100) return `${significant(share)} times`
  return share < 0.0001 ? 'below 0.01 %' : percent(share)
}

/**
 * The whole report for a person, in lines to 80 columns but for the remarks of the table.
 * @param voxHangMs of a radio that keys itself
 */
export function exposureReport(
  site: TransmittingSite,
  estimate: ExposureEstimate,
  distancesM: readonly number[] = [],
  voxHangMs?: number,
): string[] {
  return [
    'RF exposure: an estimate for one transmitter, in the main beam, in the far field',
    '',
    ...siteLines(site, estimate),
    '',
    ...limitLines(site, estimate),
    '',
    ...tableLines(site, estimate, distancesM),
    '',
    ...plotLines(site, estimate),
    '',
    ...cautionLines(site, estimate, voxHangMs),
  ]
}

function siteLines(site: TransmittingSite, estimate: ExposureEstimate): string[] {
  const band = bandOf(site.frequencyMHz)
  const { powerAtAntennaW, peakEirpW, peakErpW } = estimate
  const lost = `${significant(site.feedLineLossDb)} dB lost in the feed line`
  return [
    `  ${significant(site.frequencyMHz, 7)} MHz${band ? ` (${band.name})` : ''}, wavelength ${significant(estimate.wavelengthM)} m`,
    `  ${significant(site.powerW)} W at the transmitter, ${lost}: ${significant(powerAtAntennaW)} W at the antenna`,
    `  antenna gain ${significant(site.antennaGainDbi)} dBi: EIRP ${significant(peakEirpW)} W, ERP ${significant(peakErpW)} W, while keyed`,
    `  ${dutyWords(site)}`,
    `  ground: ${reflectionWords[site.reflection]} (power density times ${reflectionFactors[site.reflection]})`,
    ...(site.antennaHeightM === undefined
      ? []
      : [`  antenna ${significant(site.antennaHeightM)} m above where people stand`]),
  ]
}

const reflectionWords = {
  free: 'no reflection, free space',
  average: 'reflection of typical ground',
  worst: 'worst case, total reflection in phase',
} as const

function dutyWords({ dutyLimits }: TransmittingSite): string {
  if (dutyLimits.length === 0) return 'keyed all the time (no duty limit given)'
  const limits = dutyLimits.map(
    ({ windowS, share }) => `${percent(share)} of any ${significant(windowS / 60)} min`,
  )
  return `keyed for at most ${[...new Set(limits)].join(' and ')}`
}

function limitLines(site: TransmittingSite, estimate: ExposureEstimate): string[] {
  const { occupational, general } = estimate
  const row = (label: string, tell: (one: EnvironmentEstimate) => string): string =>
    `  ${label.padEnd(36)}${tell(occupational).padEnd(24)}${tell(general)}`.trimEnd()
  const field = (value: number | undefined, unit: string): string =>
    value === undefined ? 'none given' : `${significant(value)} ${unit}`
  const ground = (one: EnvironmentEstimate): string =>
    one.minimumGroundDistanceM === 0
      ? 'all of the ground'
      : bothLengths(one.minimumGroundDistanceM ?? 0)
  return [
    `  ${'Limits of 47 CFR 1.1310'.padEnd(36)}${'occupational/controlled'.padEnd(24)}general population`,
    row('power density', ({ limit }) => `${significant(limit.powerDensityMwCm2)} mW/cm2`),
    row('electric field', ({ limit }) => field(limit.electricFieldVPerM, 'V/m')),
    row('magnetic field', ({ limit }) => field(limit.magneticFieldAPerM, 'A/m')),
    row('averaged over', ({ limit }) => `${limit.averagingMinutes} min`),
    row('most of that time keyed', ({ keyedShare }) => percent(keyedShare)),
    row('average EIRP over that time', ({ averageEirpW }) => `${significant(averageEirpW)} W`),
    row(
      'STAY AT LEAST THIS FAR AWAY',
      ({ minimumDistanceM, inNearField }) =>
        bothLengths(minimumDistanceM) + (inNearField ? ' *' : ''),
    ),
    ...(site.antennaHeightM === undefined
      ? []
      : [row('that is, from the foot of the mast', ground)]),
    ...(occupational.inNearField || general.inNearField
      ? [
          `  * nearer than ${bothLengths(estimate.validFromM)} the formula does not hold: take that instead`,
        ]
      : []),
  ]
}

function tableLines(
  site: TransmittingSite,
  estimate: ExposureEstimate,
  more: readonly number[],
): string[] {
  const minima = [estimate.occupational.minimumDistanceM, estimate.general.minimumDistanceM]
  const fromM = Math.max(minima[0]! / 5, estimate.validFromM)
  const round = roundDistancesM(fromM, Math.max(10 * fromM, 5 * minima[1]!))
  const distances = [...round, ...minima, ...more].filter((metres) => metres > 0)
  const ordered = [...new Set(distances)].sort((a, b) => a - b)
  const rows = ordered.map((distanceM) => {
    const at = exposureAt(estimate, distanceM, site.reflection)
    const minimum = minima.indexOf(distanceM)
    const remark = [
      ...(at.inNearField ? ['near field'] : []),
      ...(minimum >= 0 ? [`minimum, ${['occupational', 'general'][minimum]}`] : []),
    ].join('; ')
    return [
      significant(distanceM).padStart(7),
      significant(distanceM / metresPerFoot).padStart(7),
      significant(at.occupationalMwCm2).padStart(10),
      ofLimit(at.occupationalShare).padStart(14),
      significant(at.generalMwCm2).padStart(11),
      ofLimit(at.generalShare).padStart(14),
      significant(at.electricFieldVPerM).padStart(9),
      `  ${remark}`,
    ]
      .join('')
      .trimEnd()
  })
  return [
    '   Straight line     occupational average        general average       field',
    '      m     ft     mW/cm2      of limit     mW/cm2      of limit   V/m keyed',
    ...rows,
  ]
}

/** 1, 2, 3, 5, 10 and so on, from just above one distance to just below another. */
function roundDistancesM(fromM: number, toM: number): number[] {
  const distances: number[] = []
  for (let decade = Math.floor(Math.log10(fromM)); 10 ** decade <= toM; decade++)
    distances.push(...[1, 2, 3, 5].map((step) => Number((step * 10 ** decade).toPrecision(1))))
  return distances.filter((metres) => metres >= fromM && metres <= toM)
}

const decibels = (ratio: number): number => 10 * Math.log10(ratio)

function plotLines(site: TransmittingSite, estimate: ExposureEstimate): string[] {
  const share = (environment: 'occupationalShare' | 'generalShare') => (distanceM: number) =>
    decibels(exposureAt(estimate, distanceM, site.reflection)[environment])
  if (estimate.peakEirpW === 0) return ['  (nothing is radiated: no plot)']
  const middleM = Math.max(
    Math.sqrt(estimate.occupational.minimumDistanceM * estimate.general.minimumDistanceM),
    1e-3,
  )
  const decade = 10 ** Math.floor(Math.log10(middleM))
  return [
    '  Average exposure over its limit by distance in metres:  o occupational  g general',
    ...textPlot({
      columns: 70,
      rows: 15,
      xFrom: middleM / 10,
      xTo: middleM * 10,
      yFrom: -18,
      yTo: 24,
      level: 0,
      curves: [
        { mark: 'o', valueAt: share('occupationalShare') },
        { mark: 'g', valueAt: share('generalShare') },
      ],
      uprights: [{ x: estimate.validFromM, mark: ':' }],
      yLabel: (y) => (Math.abs(y) < 1.5 ? 'limit' : `${y > 0 ? '+' : ''}${Math.round(y)} dB`),
      xLabels: [0.05, 0.1, 0.2, 0.5, 1, 2, 5, 10, 20, 50].map((step) =>
        Number((step * decade).toPrecision(2)),
      ),
    }).map((line) => `  ${line}`),
    `  ':' marks where the near field begins, left of it nothing can be read off`,
  ]
}

function cautionLines(
  site: TransmittingSite,
  estimate: ExposureEstimate,
  voxHangMs: number | undefined,
): string[] {
  const far =
    estimate.farFieldFromM === undefined
      ? 'lambda/(2 pi); give --size for the antenna as well'
      : `the larger of lambda/(2 pi) and 2 D^2/lambda for an antenna of ${significant(site.antennaSizeM!)} m`
  return [
    'What this is, and is not',
    ...[
      'An estimate by the far-field formulas of OET Bulletin 65, as if you stood in the main beam.',
      `It does not hold near metal, on a roof, or nearer than ${bothLengths(estimate.validFromM)}, which is ${far}.`,
      'It covers this one transmitter. Where several antennas share a site, their shares of the limit add up, and the site must be evaluated as a whole.',
      'The average counts on the duty limit that this program enforces. Add what anybody else sends with the same transmitter, and let nobody touch the antenna: a burn needs no average.',
      ...(voxHangMs === undefined
        ? []
        : [
            `Nothing but its audio keys this radio (VOX). The ${voxHangMs} ms for which it stays on after each transmission (ptt.hangMs) count on the duty limit; other sounds that key it do not.`,
          ]),
      `Under 47 CFR 1.1307(b)(3) a single fixed source of this average ERP needs no evaluation (from memory; read the rule) when nobody comes nearer than ${bothLengths(estimate.exemptFromM)}.`,
      site.antennaHeightM === undefined
        ? 'Without --height it cannot say how near people on the ground come.'
        : `People on level ground, taken as ${standingHeightM} m tall, come no nearer than ${significant(nearestOnGroundM(site)!)} m.`,
      'Local rules come first, and the evaluation of the licensed person who answers for the station counts, not this program.',
    ].flatMap((text) => wrapped(text, '  ')),
  ]
}
