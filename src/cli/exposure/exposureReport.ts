import { type CombinedEstimate, combinedShare } from '../../exposure/combined.js'
import {
  antennaPlace,
  type EnvironmentEstimate,
  type ExposureEstimate,
  exposureAt,
  type TransmittingSite,
} from '../../exposure/estimate.js'
import { metresPerFoot, reflectionFactors } from '../../exposure/fields.js'
import { nearestOnGroundM, standingHeightM } from '../../exposure/geometry.js'
import type { Environment, LimitSet } from '../../exposure/limits.js'
import { bandOf } from '../../regulations/amateurBands.js'
import { bodilyCautions } from '../../regulations/cautions.js'
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

/** One transmitter of a report. */
export interface ReportedRadio {
  readonly site: TransmittingSite
  readonly estimate: ExposureEstimate
  /** of a radio that keys itself */
  readonly voxHangMs?: number | undefined
}

/**
 * The whole report for a person, in lines to 80 columns but for the remarks of the table.
 * @param plot false leaves the drawing out: the table has its figures
 */
export function exposureReport(
  { site, estimate, voxHangMs }: ReportedRadio,
  limits: LimitSet,
  distancesM: readonly number[] = [],
  plot = true,
): string[] {
  return [
    'RF exposure: an estimate for one transmitter, in the main beam, in the far field',
    '',
    ...answerLines(
      estimate.general,
      estimate.occupational,
      'the antenna',
      placeUnknown([{ site, estimate }]),
    ),
    '',
    ...siteLines(site, estimate),
    '',
    ...limitLines(site, estimate, limits),
    '',
    ...tableLines(site, estimate, limits, distancesM),
    '',
    ...(plot ? [...plotLines(site, estimate), ''] : []),
    ...cautionLines([{ site, estimate, voxHangMs }], limits),
  ]
}

/** Several transmitters of one site, each in short and all together. */
export function exposureReportOfSeveral(
  radios: readonly (ReportedRadio & { readonly name: string })[],
  together: Readonly<Record<Environment, CombinedEstimate>>,
  limits: LimitSet,
  notCounted: readonly string[],
): string[] {
  return [
    'RF exposure: an estimate for all transmitters of the site, in the far field',
    '',
    ...answerLines(together.general, together.occupational, 'each antenna', placeUnknown(radios)),
    '',
    ...wrapped(
      'That is for all of them keyed as much as each may be, as if their antennas stood in one place and beamed at you: the shares of the limit add up.',
      '  ',
    ),
    '',
    ...sumLines(radios, together),
    ...notCounted.flatMap((name) =>
      wrapped(`${name} is not counted: it may not send, and its figures are not given.`, '  '),
    ),
    ...radios.flatMap(({ name, site, estimate }, index) => [
      '',
      `${name} alone (table and plot: --radio ${index})`,
      ...siteLines(site, estimate),
      '',
      ...limitLines(site, estimate, limits),
    ]),
    '',
    ...cautionLines(radios, limits),
  ]
}

/** Sums of the shares of the limit, by distance. */
function sumLines(
  radios: readonly ReportedRadio[],
  together: Readonly<Record<Environment, CombinedEstimate>>,
): string[] {
  const { general, occupational } = together
  if (general.keepAwayM === 0) return ['  (nothing is radiated: no table)']
  const fromM = occupational.keepAwayM
  const distances = [...roundDistancesM(fromM, 10 * general.keepAwayM), fromM, general.keepAwayM]
  const share = (environment: Environment, distanceM: number): string => {
    const sum = combinedShare(radios, environment, distanceM)
    return sum === undefined ? 'near field' : ofLimit(sum)
  }
  return [
    '   Straight line       share of the limit, all together',
    '      m     ft     everybody       trained',
    ...[...new Set(distances)]
      .sort((a, b) => a - b)
      .map((metres) =>
        [
          significant(metres).padStart(7),
          significant(metres / metresPerFoot).padStart(7),
          share('general', metres).padStart(14),
          share('occupational', metres).padStart(14),
        ].join(''),
      ),
  ]
}

/** What a neighbour and the operator want to know, before the figures that it comes from. */
function answerLines(
  general: Pick<EnvironmentEstimate, 'keepAwayM' | 'groundDistanceM'>,
  occupational: Pick<EnvironmentEstimate, 'keepAwayM' | 'groundDistanceM'>,
  antenna: string,
  unknown: string | undefined,
): string[] {
  const ground = [general, occupational].map(({ groundDistanceM }) => groundDistanceM)
  return [
    `  Keep everybody at least ${bothLengths(general.keepAwayM)} from ${antenna},`,
    `  trained people (occupational) ${bothLengths(occupational.keepAwayM)}.`,
    ...(ground[0] === undefined || ground[1] === undefined
      ? []
      : ground[0] === 0
        ? [`  ${capital(nobodyTooNear)}.`]
        : wrapped(
            `On level ground that is ${bothLengths(ground[0])} from the foot of the mast${ground[1] === 0 ? `; for trained people ${nobodyTooNear}` : `, for trained people ${bothLengths(ground[1])}`}.`,
            '  ',
          )),
    ...(unknown === undefined ? [] : wrapped(unknown, '  ')),
  ]
}

const nobodyTooNear = 'nobody on level ground is too near'
const capital = (text: string): string => text[0]!.toUpperCase() + text.slice(1)

/** What has to be known of the antenna before a distance on the ground can be told, or told rightly. */
function placeUnknown(radios: readonly ReportedRadio[]): string | undefined {
  if (radios.some(({ site }) => site.antennaHeightM === undefined))
    return "Without the antenna's height (--height, transmit.antennaHeightM) it cannot say how near people on the ground come."
  if (radios.some(({ site }) => site.antennaSizeM === undefined))
    return 'The antenna is taken as a point, because its size is not given (--size, transmit.antennaSizeM): people come nearer to the lower end of a long one, and its near field reaches farther.'
  return undefined
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

function limitLines(
  site: TransmittingSite,
  estimate: ExposureEstimate,
  limits: LimitSet,
): string[] {
  const { occupational, general } = estimate
  const row = (label: string, tell: (one: EnvironmentEstimate) => string): string =>
    `  ${label.padEnd(36)}${tell(general).padEnd(24)}${tell(occupational)}`.trimEnd()
  const field = (value: number | undefined, unit: string): string =>
    value === undefined ? 'none given' : `${significant(value)} ${unit}`
  const title = `Limits: ${limits.title}`
  // A long one stands on a line of its own.
  const isLong = title.length > 34
  return [
    ...(isLong ? [`  ${title}`] : []),
    `  ${(isLong ? '' : title).padEnd(36)}${'everybody'.padEnd(24)}trained (occupational)`,
    ...(limits.checked
      ? []
      : [`  (from memory, not verified here: hold them against ${limits.source})`].flatMap((text) =>
          wrapped(text.trim(), '  '),
        )),
    row('power density', ({ limit }) => densityWords(limit.powerDensityMwCm2, limits)),
    row('electric field', ({ limit }) => field(limit.electricFieldVPerM, 'V/m')),
    row('magnetic field', ({ limit }) => field(limit.magneticFieldAPerM, 'A/m')),
    row(
      'averaged over',
      ({ limit }) =>
        `${significant(limit.averagingMinutes)} min${limit.over ? `, ${limit.over}` : ''}`,
    ),
    row('most of that time keyed', ({ keyedShare }) => percent(keyedShare)),
    row('average EIRP over that time', ({ averageEirpW }) => `${significant(averageEirpW)} W`),
    row('limit reached at', ({ limitDistanceM }) => bothLengths(limitDistanceM)),
    row('formula holds from', () => bothLengths(estimate.validFromM)),
    row('KEEP AWAY AT LEAST', ({ keepAwayM }) => bothLengths(keepAwayM)),
    ...(site.antennaHeightM === undefined
      ? []
      : [
          row('the same from the foot of the mast', ({ groundDistanceM }) =>
            groundDistanceM === 0 ? 'nobody is too near' : bothLengths(groundDistanceM ?? 0),
          ),
        ]),
  ]
}

const densityWords = (mwCm2: number, { unit }: LimitSet): string =>
  `${significant(inUnit(mwCm2, unit))} ${unit}`
const inUnit = (mwCm2: number, unit: LimitSet['unit']): number =>
  unit === 'W/m2' ? mwCm2 * 10 : mwCm2

function tableLines(
  site: TransmittingSite,
  estimate: ExposureEstimate,
  limits: LimitSet,
  more: readonly number[],
): string[] {
  const minima = [estimate.occupational.keepAwayM, estimate.general.keepAwayM]
  const fromM = Math.max(minima[0]! / 5, estimate.validFromM)
  const round = roundDistancesM(fromM, Math.max(10 * fromM, 5 * minima[1]!))
  const distances = [...round, ...minima, ...more].filter((metres) => metres > 0)
  const ordered = [...new Set(distances)].sort((a, b) => a - b)
  const rows = ordered.map((distanceM) => {
    const lengths =
      significant(distanceM).padStart(7) + significant(distanceM / metresPerFoot).padStart(7)
    const at = exposureAt(estimate, distanceM, site.reflection)
    if (at.inNearField) return `${lengths}  near field: the formula does not hold here`
    const remark = minima.flatMap((metres, index) =>
      metres === distanceM ? [`keep away, ${['trained', 'everybody'][index]}`] : [],
    )
    return [
      lengths,
      significant(inUnit(at.generalMwCm2, limits.unit)).padStart(11),
      ofLimit(at.generalShare).padStart(14),
      significant(inUnit(at.occupationalMwCm2, limits.unit)).padStart(11),
      ofLimit(at.occupationalShare).padStart(14),
      significant(at.electricFieldVPerM).padStart(9),
      `  ${remark.join('; ')}`,
    ]
      .join('')
      .trimEnd()
  })
  const unit = limits.unit.padStart(11)
  return [
    '   Straight line        everybody, average        trained, average       field',
    `      m     ft${unit}      of limit${unit}      of limit  V/m keyed`,
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
  const share = (environment: 'occupationalShare' | 'generalShare') => (distanceM: number) => {
    const at = exposureAt(estimate, distanceM, site.reflection)
    return at.inNearField ? Number.NaN : decibels(at[environment])
  }
  if (estimate.general.averageEirpW === 0) return ['  (nothing is radiated: no plot)']
  const middleM = Math.max(
    Math.sqrt(estimate.occupational.keepAwayM * estimate.general.keepAwayM),
    1e-3,
  )
  const decade = 10 ** Math.floor(Math.log10(middleM))
  return [
    '  Average exposure over its limit by distance in metres:  g everybody  o trained people',
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
    `  ':' marks where the near field ends: left of it the formula does not hold`,
  ]
}

function cautionLines(radios: readonly ReportedRadio[], limits: LimitSet): string[] {
  const exempt = radios.length === 1 ? radios[0]!.estimate.exemptFromM : undefined
  const nearest = radios.flatMap(({ site }) => {
    const place = antennaPlace(site)
    return place === undefined ? [] : [nearestOnGroundM(place)]
  })
  return [
    'Who is who',
    ...wrapped(
      'Trained people (occupational) know that they are exposed and can end it: the operator, and club members who were told. Neighbours, guests, passers-by and children are everybody, and so is whoever does not know.',
      '  ',
    ),
    '',
    'What this is, and is not',
    ...[
      'An estimate by the far-field formulas of OET Bulletin 65, as if you stood in the main beam.',
      ...radios.map(
        ({ site, estimate }) =>
          `${radios.length > 1 ? `At ${significant(site.frequencyMHz, 7)} MHz it` : 'It'} does not hold near metal, on a roof, or nearer than ${bothLengths(estimate.validFromM)}, which is ${validFromWords(site, estimate)}.`,
      ),
      radios.length > 1
        ? 'It covers the radios of this node. What others send from the same site adds to it: the site must be evaluated as a whole.'
        : 'It covers this one transmitter. Where several antennas share a site, their shares of the limit add up, and the site must be evaluated as a whole.',
      'The average counts on the duty limit that this program enforces. Add what anybody else sends with the same transmitter, and let nobody touch the antenna: a burn needs no average.',
      ...radios.flatMap(({ voxHangMs }) =>
        voxHangMs === undefined
          ? []
          : [
              `Nothing but its audio keys this radio (VOX). The ${voxHangMs} ms for which it stays on after each transmission (ptt.hangMs) count on the duty limit; other sounds that key it do not.`,
            ],
      ),
      ...(exempt === undefined
        ? []
        : [
            `Under 47 CFR 1.1307(b)(3) a single fixed source of this average ERP needs no evaluation (from memory; read the rule) when nobody comes nearer than ${bothLengths(exempt)}.`,
          ]),
      ...(nearest.length === radios.length
        ? [
            `People on level ground, taken as ${standingHeightM} m tall, come no nearer to the antenna's lowest point than ${significant(Math.min(...nearest))} m. A slope, a balcony or a ladder brings them nearer.`,
          ]
        : []),
      ...(limits.checked
        ? []
        : [
            `The limits of ${limits.title} stand here from memory. Nobody held them against the published text; do that before you rely on them.`,
          ]),
      'Local rules decide which limits hold (--limits, exposure.limits), and the evaluation of the licensed person who answers for the station counts, not this program.',
    ].flatMap((text) => wrapped(text, '  ')),
    '',
    'Besides',
    ...bodilyCautions
      .filter(({ about }) => about === 'RF burns' || about === 'Implants')
      .flatMap(({ about, text }) => wrapped(`${about}: ${text}`, '  ')),
  ]
}

const validFromWords = (site: TransmittingSite, { farFieldFromM }: ExposureEstimate): string =>
  farFieldFromM === undefined
    ? 'lambda/(2 pi); give --size for the antenna as well'
    : `the larger of lambda/(2 pi) and 2 D^2/lambda for an antenna of ${significant(site.antennaSizeM!)} m`
