import { dirname, resolve } from 'node:path'
import { Command, InvalidArgumentError, Option } from 'commander'
import { loadConfig } from '../../config/load.js'
import type { Edges } from '../../devices/edges.js'
import { Failure } from '../../runtime/failure.js'
import { harmlessText } from '../../runtime/harmlessText.js'
import { type RepeaterField, repeaterFields } from '../../services/repeaters/headers.js'
import { confirm } from '../shared/confirm.js'
import { UsageError } from '../shared/usageError.js'
import { prepareCards } from './loadCards.js'
import { prepareElements } from './loadElements.js'
import type { LoadInput, Prepared } from './loadInput.js'
import { prepareRepeaters } from './loadRepeaters.js'
import { countWords } from './loadReport.js'
import { prepareService } from './loadService.js'

interface LoadFlags {
  readonly config: string
  readonly map: LoadInput['map']
  readonly yes?: boolean
  readonly dryRun?: boolean
  readonly strict?: boolean
}

const kinds = {
  repeaters: prepareRepeaters,
  elements: prepareElements,
  cards: prepareCards,
  service: prepareService,
} as const
type Kind = keyof typeof kinds
const singular = {
  repeaters: 'repeater',
  elements: 'element set',
  cards: 'card',
  service: 'service',
} as const

const examples = `
Examples:
  ridgepost load repeaters /media/stick/list.csv --config node.toml --dry-run
  ridgepost load repeaters /media/stick/list.csv --config node.toml
  ridgepost load repeaters list.csv --config node.toml --map "name=Hilltop,output=Listen" --yes
  ridgepost load elements weather-sats.txt --config node.toml --yes
  ridgepost load cards field-day/ --config node.toml
  ridgepost load service check-in.mjs --config node.toml

A running node takes the new data up by itself within seconds.
Exit status: 0 loaded (with --dry-run: it could be), 1 nothing was replaced, 2 wrong usage.
`

/** `ridgepost load`: new data in the place of the old, after it was read to the end and shown. */
export function loadCommand(edges: Edges): Command {
  return new Command('load')
    .description(
      'Check a data file whole, show what it holds, and put it in the place of the old one.',
    )
    .argument('<kind>', 'repeaters, elements, cards or service', kindArgument)
    .argument(
      '<file>',
      'CSV directory; element sets; a file or a folder of cards; a service of your own (.mjs)',
    )
    .requiredOption(
      '--config <file>',
      "the node's configuration, which says where the data belongs",
    )
    .addOption(
      new Option(
        '--map <fields>',
        'columns of a directory that are not recognised: FIELD=HEADER or FIELD=NUMBER, with commas between',
      )
        .argParser(mapOption)
        .default({}, 'by the header'),
    )
    .option('--yes', 'replace without asking')
    .option('--dry-run', 'read and show all of it, replace nothing')
    .option('--strict', 'replace only if every row is right')
    .addHelpText('after', examples)
    .action(async (kind: Kind, source: string, flags: LoadFlags) => {
      await load(kind, source, flags, edges)
    })
}

async function load(kind: Kind, source: string, flags: LoadFlags, edges: Edges): Promise<void> {
  if (kind !== 'repeaters' && Object.keys(flags.map).length > 0)
    throw new UsageError({
      code: 'load-map',
      subject: '--map',
      got: `a map of columns for ${kind}`,
      expected: 'it with repeaters only',
    })
  const prepared = await kinds[kind]({
    source,
    config: await loadConfig(flags.config),
    folder: dirname(resolve(flags.config)),
    map: flags.map,
    nowWallMs: edges.clock.wallMs(),
    clock: edges.clock,
  })
  for (const line of prepared.lines) edges.stdout.write(`${harmlessText(line)}\n`)
  refuseWrong(kind, source, prepared, flags.strict === true)
  if (flags.dryRun === true) {
    edges.stdout.write(`Nothing was replaced (--dry-run). It belongs in ${prepared.target}\n`)
    return
  }
  edges.stdout.write(`To replace ${prepared.target} (${prepared.now})\n`)
  if (flags.yes !== true && !(await confirm(edges, 'Replace it?'))) {
    edges.stderr.write('Nothing was replaced.\n')
    edges.setExitCode(1)
    return
  }
  await prepared.replace()
  const count = countWords(prepared.rightCount, singular[kind])
  edges.stdout.write(`Replaced ${prepared.target}: ${count}\n`)
}

function refuseWrong(kind: Kind, source: string, prepared: Prepared, strict: boolean): void {
  if (prepared.rightCount > 0 && !(strict && prepared.rejectedCount > 0)) return
  throw new Failure({
    code: 'load-refused',
    subject: source,
    got: `${prepared.rightCount} right and ${prepared.rejectedCount} wrong`,
    expected: strict
      ? `${kind} that are all right (--strict)`
      : `at least one of the ${kind} right`,
    advice: 'nothing was replaced',
  })
}

function kindArgument(text: string): Kind {
  if (text in kinds) return text as Kind
  throw new InvalidArgumentError(`Expected ${Object.keys(kinds).join(', ')}.`)
}

function mapOption(text: string): LoadInput['map'] {
  const map: Partial<Record<RepeaterField, string | number>> = {}
  for (const pair of text.split(',')) {
    const found = /^\s*(\w+)\s*=\s*(.+?)\s*$/.exec(pair)
    const field = found?.[1] as RepeaterField | undefined
    if (found === null || field === undefined || !repeaterFields.includes(field)) {
      const names = repeaterFields.join(', ')
      throw new InvalidArgumentError(`Expected FIELD=HEADER, where FIELD is one of ${names}.`)
    }
    map[field] = /^\d+$/.test(found[2]!) ? Number(found[2]) : found[2]!
  }
  return map
}
