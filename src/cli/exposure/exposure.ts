import { Command, InvalidArgumentError, Option } from 'commander'
import { loadConfig } from '../../config/load.js'
import type { Config, RadioSection } from '../../config/schema.js'
import { keysItself } from '../../config/vox.js'
import type { Edges } from '../../devices/edges.js'
import { combinedExposure } from '../../exposure/combined.js'
import {
  type ExposureEstimate,
  estimateExposure,
  exposureAt,
  type TransmittingSite,
} from '../../exposure/estimate.js'
import type { Reflection } from '../../exposure/fields.js'
import { type LimitSetName, limitSetNames, limitSetOf } from '../../exposure/limitSets.js'
import type { Environment, LimitSet } from '../../exposure/limits.js'
import { UsageError } from '../shared/usageError.js'
import { exposureReport, exposureReportOfSeveral, type ReportedRadio } from './exposureReport.js'
import {
  figuresOfRadio,
  limitsOfConfig,
  type SiteFigures,
  siteKeys,
  siteOf,
} from './exposureSite.js'

interface ExposureFlags {
  readonly plot: boolean
  readonly radio?: number
  readonly frequency?: number
  readonly power?: number
  readonly loss?: number
  readonly gain?: number
  readonly height?: number
  readonly size?: number
  readonly duty?: number
  readonly limits?: LimitSetName
  readonly own?: number
  readonly ownOccupational?: number
  readonly ownAveraging?: number
  readonly reflection: Reflection
  readonly distance: readonly number[]
  readonly format: 'text' | 'json'
}

/** `ridgepost exposure`: how near people may come to the antenna. */
export function exposureCommand(edges: Edges): Command {
  return new Command('exposure')
    .description('Estimate RF exposure: limits, minimum distances, a table and a plot by distance.')
    .argument('[config]', 'configuration whose [transmit] figures are used; options override them')
    .option(
      '--radio <n>',
      'which radio of the configuration; all of them together without it',
      number,
    )
    .option('--frequency <mhz>', 'where the transmitter is tuned', number)
    .option('--power <w>', "transmitter's output while keyed", number)
    .option('--loss <db>', 'loss of the feed line', number)
    .option('--gain <dbi>', 'gain of the antenna over an isotropic one (dBd + 2.15)', number)
    .option('--height <m>', "antenna's centre above where people stand", number)
    .option('--size <m>', "antenna's largest dimension, for the near field", number)
    .option('--duty <percent>', 'share of any 6 minutes keyed; 100 without a configuration', number)
    .addOption(
      new Option('--reflection <ground>', 'free space, average ground (2.56), or worst case (4)')
        .choices(['free', 'average', 'worst'])
        .default('average'),
    )
    .addOption(
      new Option('--limits <set>', 'whose limits; local rules decide which hold').choices([
        ...limitSetNames,
      ]),
    )
    .option('--own <w>', "with --limits own: everybody's limit, W/m2", number)
    .option('--own-occupational <w>', 'the same for trained people, W/m2', number)
    .option('--own-averaging <minutes>', 'time over which the own limits are averaged', number)
    .option('--no-plot', 'without the drawing: its figures are in the table')
    .option('--distance <m>', 'one more distance for the table; may be repeated', several, [])
    .addOption(
      new Option('--format <format>', 'report for a person, or JSON')
        .choices(['text', 'json'])
        .default('text'),
    )
    .action(async (file: string | undefined, flags: ExposureFlags) => {
      const config = file === undefined ? undefined : await loadConfig(file)
      const limits = limitsOf(flags, config)
      const json = flags.format === 'json'
      const lines =
        config !== undefined && config.radios.length > 1 && flags.radio === undefined
          ? ofAllRadios(config, file!, flags, limits, json)
          : ofOneRadio(config, file, flags, limits, json)
      edges.stdout.write(`${lines.join('\n')}\n`)
    })
}

function ofOneRadio(
  config: Config | undefined,
  file: string | undefined,
  flags: ExposureFlags,
  limits: LimitSet,
  json: boolean,
): string[] {
  const radio = config === undefined ? undefined : radioOf(config, file!, flags.radio ?? 0)
  const base = radio === undefined ? {} : figuresOfRadio(radio)
  const site = completeSite({ ...base, ...figuresOfFlags(flags) }, flags, file)
  const reported = { site, estimate: estimated(site, limits), voxHangMs: hangOf(radio) }
  return json
    ? [jsonText({ site, estimate: reported.estimate, distances: distancesOf(reported, flags) })]
    : exposureReport(reported, limits, flags.distance, flags.plot)
}

function ofAllRadios(
  config: Config,
  file: string,
  flags: ExposureFlags,
  limits: LimitSet,
  json: boolean,
): string[] {
  const given = Object.keys(figuresOfFlags(flags))
  if (given.length > 0 || flags.distance.length > 0)
    throw new UsageError({
      code: 'exposure-which-radio',
      subject: file,
      got: `${config.radios.length} radios, and figures for one of them`,
      expected: 'one radio where figures or distances are given as options',
      advice: `say which: --radio 0 to ${config.radios.length - 1}`,
    })
  const counted = config.radios.filter((radio) => radio.transmit.enabled || hasFigures(radio))
  const radios = counted.map((radio) => {
    const site = completeSite(figuresOfRadio(radio), flags, `${file}, ${radio.name}`)
    return {
      name: radio.name,
      site,
      estimate: estimated(site, limits),
      voxHangMs: hangOf(radio),
    }
  })
  if (radios.length === 0) completeSite({}, flags, file)
  const together = {
    general: combinedExposure(radios, 'general'),
    occupational: combinedExposure(radios, 'occupational'),
  }
  if (json) return [jsonText({ radios, together })]
  const left = config.radios.filter((radio) => !counted.includes(radio))
  return exposureReportOfSeveral(
    radios,
    together,
    limits,
    left.map(({ name }) => name),
  )
}

const hasFigures = (radio: RadioSection): boolean => siteOf(figuresOfRadio(radio), 'average').ok

const hangOf = (radio: RadioSection | undefined): number | undefined =>
  radio !== undefined && keysItself(radio) ? radio.ptt.hangMs : undefined

/** @throws UsageError where the figures of the command line make no set of limits */
function limitsOf(flags: ExposureFlags, config: Config | undefined): LimitSet {
  const given = [flags.own, flags.ownOccupational, flags.ownAveraging].some(
    (value) => value !== undefined,
  )
  if (flags.limits === undefined && !given)
    return config === undefined ? limitSetOf('47cfr1.1310') : limitsOfConfig(config.exposure)
  if (flags.limits !== undefined && flags.limits !== 'own' && !given)
    return limitSetOf(flags.limits)
  if (flags.limits !== undefined && flags.limits !== 'own')
    throw new UsageError({
      code: 'exposure-own-limits',
      subject: 'exposure',
      got: `--limits ${flags.limits}, and figures of your own`,
      expected: 'one of them',
    })
  const { own, ownOccupational, ownAveraging } = flags
  const wrong = [own, ownOccupational ?? own, ownAveraging].some(
    (value) => value === undefined || !(value > 0),
  )
  if (wrong)
    throw new UsageError({
      code: 'exposure-own-limits',
      subject: '--limits own',
      got: 'no figures, or one that is not above 0',
      expected: '--own W/m2 and --own-averaging MINUTES, and --own-occupational W/m2 if it differs',
    })
  return limitSetOf('own', {
    generalWPerM2: own!,
    occupationalWPerM2: ownOccupational,
    averagingMinutes: ownAveraging!,
  })
}

function estimated(site: TransmittingSite, limits: LimitSet): ExposureEstimate {
  const result = estimateExposure(site, limits)
  if (result.ok) return result.estimate
  throw new UsageError({
    code: 'exposure-input',
    subject: 'exposure',
    got: 'figures that cannot be right',
    expected: result.reason,
  })
}

/** @throws UsageError for a number that no radio of the configuration has */
export function radioOf({ radios }: Config, file: string, number: number): RadioSection {
  const radio = radios[number]
  if (radio === undefined)
    throw new UsageError({
      code: 'no-such-radio',
      subject: '--radio',
      got: String(number),
      expected: `0 to ${radios.length - 1}: ${file} has ${radios.length}`,
    })
  return radio
}

function figuresOfFlags(flags: ExposureFlags): SiteFigures {
  const given: SiteFigures = {
    frequencyMHz: flags.frequency,
    powerW: flags.power,
    feedLineLossDb: flags.loss,
    antennaGainDbi: flags.gain,
    antennaHeightM: flags.height,
    antennaSizeM: flags.size,
    dutyLimits: flags.duty === undefined ? undefined : [{ windowS: 360, share: flags.duty / 100 }],
  }
  return Object.fromEntries(Object.entries(given).filter(([, value]) => value !== undefined))
}

function completeSite(
  figures: SiteFigures,
  { reflection }: ExposureFlags,
  config: string | undefined,
): TransmittingSite {
  const result = siteOf(figures, reflection)
  if (result.ok) return result.site
  const wanted = result.missing.map((name) => siteKeys[name])
  throw new UsageError({
    code: 'exposure-missing',
    subject: config ?? 'exposure',
    got: `no ${wanted.map(({ key }) => key.replace('transmit.', '')).join(', ')}`,
    expected: 'frequency, power and antenna gain',
    advice:
      config === undefined
        ? `give ${wanted.map(({ option }) => option).join(' ')}, or a configuration file`
        : `set ${wanted.map(({ key }) => key).join(', ')}, or give ${wanted.map(({ option }) => option).join(' ')}`,
  })
}

function distancesOf({ site, estimate }: ReportedRadio, { distance }: ExposureFlags) {
  const keepAway = (['occupational', 'general'] as Environment[]).map(
    (environment) => estimate[environment].keepAwayM,
  )
  return [...keepAway, ...distance]
    .filter((distanceM) => distanceM > 0)
    .map((distanceM) => exposureAt(estimate, distanceM, site.reflection))
}

const jsonText = (facts: object): string =>
  JSON.stringify(
    { kind: 'estimate, far field, main beam; local rules come first', ...facts },
    null,
    2,
  )

function number(text: string): number {
  const value = Number(text)
  if (text.trim() === '' || !Number.isFinite(value)) throw new InvalidArgumentError('Not a number.')
  return value
}

function several(text: string, before: readonly number[]): number[] {
  const value = number(text)
  if (value <= 0) throw new InvalidArgumentError('A distance is above 0.')
  return [...before, value]
}
