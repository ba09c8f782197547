import { Command, InvalidArgumentError, Option } from 'commander'
import { loadConfig } from '../../config/load.js'
import type { RadioSection } from '../../config/schema.js'
import { keysItself } from '../../config/vox.js'
import type { Edges } from '../../devices/edges.js'
import { estimateExposure, exposureAt, type TransmittingSite } from '../../exposure/estimate.js'
import type { Reflection } from '../../exposure/fields.js'
import { UsageError } from '../shared/usageError.js'
import { exposureReport } from './exposureReport.js'
import { figuresOfRadio, type SiteFigures, siteKeys, siteOf } from './exposureSite.js'

interface ExposureFlags {
  readonly radio: number
  readonly frequency?: number
  readonly power?: number
  readonly loss?: number
  readonly gain?: number
  readonly height?: number
  readonly size?: number
  readonly duty?: number
  readonly reflection: Reflection
  readonly distance: readonly number[]
  readonly format: 'text' | 'json'
}

/** `ridgepost exposure`: how near people may come to the antenna. */
export function exposureCommand(edges: Edges): Command {
  return new Command('exposure')
    .description('Estimate RF exposure: limits, minimum distances, a table and a plot by distance.')
    .argument('[config]', 'configuration whose [transmit] figures are used; options override them')
    .option('--radio <n>', 'which radio of the configuration', number, 0)
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
    .option('--distance <m>', 'one more distance for the table; may be repeated', several, [])
    .addOption(
      new Option('--format <format>', 'report for a person, or JSON')
        .choices(['text', 'json'])
        .default('text'),
    )
    .action(async (config: string | undefined, flags: ExposureFlags) => {
      const radio = config === undefined ? undefined : await radioOf(config, flags.radio)
      const base = radio === undefined ? {} : figuresOfRadio(radio)
      const hangMs = radio !== undefined && keysItself(radio) ? radio.ptt.hangMs : undefined
      const site = completeSite({ ...base, ...figuresOfFlags(flags) }, flags, config)
      const result = estimateExposure(site)
      if (!result.ok)
        throw new UsageError({
          code: 'exposure-input',
          subject: 'exposure',
          got: 'figures that cannot be right',
          expected: result.reason,
        })
      const lines =
        flags.format === 'json'
          ? [jsonReport(site, result.estimate, flags.distance)]
          : exposureReport(site, result.estimate, flags.distance, hangMs)
      edges.stdout.write(`${lines.join('\n')}\n`)
    })
}

/** @throws UsageError for a number that no radio of the configuration has */
export async function radioOf(file: string, number: number): Promise<RadioSection> {
  const { radios } = await loadConfig(file)
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

function jsonReport(
  site: TransmittingSite,
  estimate: Parameters<typeof exposureAt>[0],
  distancesM: readonly number[],
): string {
  const distances = [
    estimate.occupational.minimumDistanceM,
    estimate.general.minimumDistanceM,
    ...distancesM,
  ].filter((distanceM) => distanceM > 0)
  return JSON.stringify(
    {
      kind: 'estimate for one transmitter, far field, main beam; local rules come first',
      site,
      estimate,
      distances: distances.map((distanceM) => exposureAt(estimate, distanceM, site.reflection)),
    },
    null,
    2,
  )
}

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
