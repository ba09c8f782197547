import { dirname, resolve } from 'node:path'
import { Command, Option } from 'commander'
import { ConfigInvalid, loadConfig } from '../../config/load.js'
import type { Config } from '../../config/schema.js'
import type { Edges } from '../../devices/edges.js'
import { bodilyCautions, type Caution, rulesCautions } from '../../regulations/cautions.js'
import { harmlessJson, harmlessText } from '../../runtime/harmlessText.js'
import { type Finding, mend, wrapped } from '../shared/finding.js'
import { configFindings } from './checkConfig.js'
import { probeData } from './checkData.js'
import { joined, type Probe, probeRadio, probeStation } from './checkDevices.js'
import { type PlanPart, planOf } from './checkPlan.js'

interface CheckFlags {
  readonly devices: boolean
  readonly format: 'text' | 'json'
}

interface Report {
  readonly file: string
  readonly plan: readonly PlanPart[]
  readonly good: readonly string[]
  readonly mend: readonly Finding[]
  readonly look: readonly Finding[]
}

/** `ridgepost check`: what the node would do, what is in its way, and what to have thought of before it sends. */
export function checkCommand(edges: Edges): Command {
  return new Command('check')
    .description(
      'Say in plain words what a configuration does, and look whether all it needs is there.',
    )
    .argument('[config]', 'configuration file', 'node.toml')
    .option(
      '--no-devices',
      'leave audio and other devices alone (they are busy while the node runs)',
    )
    .addOption(
      new Option('--format <format>', 'report for a person, or JSON')
        .choices(['text', 'json'])
        .default('text'),
    )
    .action(async (file: string, flags: CheckFlags) => {
      const report = await examine(file, flags, edges)
      const lines =
        flags.format === 'json'
          ? [
              harmlessJson(
                JSON.stringify(
                  { ...report, cautions: [...rulesCautions, ...bodilyCautions] },
                  null,
                  2,
                ),
              ),
            ]
          : reportLines(report).map(harmlessText)
      edges.stdout.write(`${lines.join('\n')}\n`)
      edges.setExitCode(report.mend.length === 0 ? 0 : 1)
    })
}

/** All of it for a person, of a file that was just written. */
export async function checkedLines(
  file: string,
  edges: Edges,
): Promise<{ readonly lines: readonly string[]; readonly isGood: boolean }> {
  const report = await examine(file, { devices: true, format: 'text' }, edges)
  return { lines: reportLines(report).map(harmlessText), isGood: report.mend.length === 0 }
}

async function examine(file: string, flags: CheckFlags, edges: Edges): Promise<Report> {
  let config: Config
  try {
    config = await loadConfig(file)
  } catch (error) {
    if (!(error instanceof ConfigInvalid)) throw error
    const findings = error.problems.map((problem) => mend('configuration', problem))
    return { file, plan: [], good: [], mend: findings, look: [] }
  }
  const folder = dirname(resolve(file))
  const probe = joined([
    { good: [], findings: configFindings(config) },
    ...(flags.devices ? await probeDevices(config, folder, edges) : []),
    await probeData(config, folder, edges),
  ])
  return {
    file,
    plan: planOf(config),
    good: probe.good,
    mend: probe.findings.filter((finding) => finding.severity === 'mend'),
    look: probe.findings.filter((finding) => finding.severity === 'look'),
  }
}

/** One after the other: two radios may share a sound card. */
async function probeDevices(config: Config, folder: string, edges: Edges): Promise<Probe[]> {
  const probes = [await probeStation(config, edges)]
  for (const [number, radio] of config.radios.entries()) {
    const { good, findings } = await probeRadio(radio, folder, edges)
    const prefix = config.radios.length > 1 ? `radio ${number}: ` : ''
    probes.push({
      good: good.map((text) => prefix + text),
      findings: findings.map((one) => ({ ...one, about: prefix + one.about })),
    })
  }
  return probes
}

function reportLines({ file, plan, good, mend: toMend, look }: Report): string[] {
  return [
    `${file}: what it does`,
    ...plan.flatMap(partLines),
    ...section(
      'OK',
      good.map((text) => wrapped(text, '    ')),
    ),
    ...section(`Errors: ${toMend.length}`, toMend.map(findingLines)),
    ...section(`Check by hand: ${look.length}`, look.map(findingLines)),
    '',
    'Before the first transmission',
    ...rulesCautions.flatMap(cautionLines),
    '',
    'For whoever works on it or lives near it (common practice)',
    ...bodilyCautions.flatMap(cautionLines),
    '',
    ...wrapped(
      'Sections are those of the United States, as far as they are known here; local rules come first. This is no legal advice: your licence decides.',
      '  ',
    ),
    '',
    toMend.length === 0
      ? 'No errors.'
      : `Errors: ${toMend.length}. See above what is wrong, and what to do.`,
  ]
}

const cautionLines = ({ about, text }: Caution): string[] => [
  '',
  `  ${about}`,
  ...wrapped(text, '    '),
]

function partLines({ heading, lines }: PlanPart): string[] {
  const width = Math.max(...lines.map(([label]) => label.length))
  return [
    '',
    `  ${heading}`,
    ...lines.flatMap(([label, text]) => {
      const [first, ...rest] = wrapped(text, ' '.repeat(width + 6))
      return [`    ${label.padEnd(width)}  ${first!.trimStart()}`, ...rest]
    }),
  ]
}

const section = (heading: string, entries: readonly (readonly string[])[]): string[] =>
  entries.length === 0 ? [] : ['', heading, ...entries.flat()]

const findingLines = ({ about, text }: Finding): string[] => [
  `  ${about}`,
  ...wrapped(text, '    '),
]
