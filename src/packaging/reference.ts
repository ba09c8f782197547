import type { Command } from 'commander'
import { commands } from '../cli/commands.js'
import type { Edges } from '../devices/edges.js'
import { allowedValues, type ConfigKey, type ConfigTable } from './configKeys.js'
import { meaning, tomlValue } from './sample.js'

/** The tables of the configuration as Markdown. */
export function configReference(root: ConfigTable): string {
  return flattened(root)
    .filter(({ path, keys }) => path !== '' && !path.startsWith('radio') && keys.length > 0)
    .map(tableReference)
    .join('\n\n')
}

const flattened = (table: ConfigTable): ConfigTable[] => [table, ...table.tables.flatMap(flattened)]

function tableReference({ path, isList, text, keys }: ConfigTable): string {
  const title = isList ? `[[${path}]]` : `[${path}]`
  const rows = keys.map(
    (key) =>
      `| \`${key.name}\` | ${key.default === undefined ? '' : code(tomlValue(key.default))} | ${allowed(key)} | ${cell(meaning(key))} |`,
  )
  return [
    `**\`${title}\`** ${text}`,
    '',
    '| key | default | from, to | what it means |',
    '|---|---|---|---|',
    ...rows,
  ].join('\n')
}

const cell = (text: string): string => text.replaceAll('|', '\\|')
const code = (text: string): string => `\`${cell(text)}\``

/** The limits of a number, of each number in a list, or of a list's or a text's length. */
function allowed({ schema }: ConfigKey): string {
  const { minimum, exclusiveMinimum, maximum, maxLength, maxItems } = schema.items?.type?.match(
    /number|integer/,
  )
    ? schema.items
    : schema
  if (minimum !== undefined || maximum !== undefined) return `${minimum ?? ''} to ${maximum ?? ''}`
  if (exclusiveMinimum !== undefined) return `above ${exclusiveMinimum}`
  if (maxLength !== undefined) return `at most ${maxLength} characters`
  if (maxItems !== undefined) return `at most ${maxItems}`
  return schema.type === 'boolean' ? allowedValues(schema).join(', ') : ''
}

/** What `--help` says of each command, out of the same declarations. */
export async function commandReference(): Promise<string> {
  const parts: string[] = []
  for (const [name, { load }] of Object.entries(commands)) {
    // A command uses the outside when it runs, not when it is described.
    const command = (await load())({} as Edges)
    parts.push(commandText(name, command))
  }
  return parts.join('\n\n')
}

function commandText(name: string, command: Command): string {
  const help = command.createHelp()
  const line = (term: string, description: string): string =>
    `- \`${term}\`: ${description.replaceAll('\n', ' ')}`
  return [
    `**\`ridgepost ${name} ${command.usage()}\`** ${command.description()}`,
    '',
    ...help
      .visibleArguments(command)
      .map((one) => line(help.argumentTerm(one), help.argumentDescription(one))),
    ...help
      .visibleOptions(command)
      .filter((option) => option.long !== '--help')
      .map((option) => line(help.optionTerm(option), help.optionDescription(option))),
  ]
    .join('\n')
    .trimEnd()
}
