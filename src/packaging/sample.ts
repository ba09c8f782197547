import { allowedValues, type ConfigKey, type ConfigTable } from './configKeys.js'

const head = `#:schema ./node.schema.json
## Every key of the configuration, with what it means and its default; where there is no default, an example.
## Copy what you need into a file of your own. Lines with one '#' are settings, lines with two are words about them.
## File names are relative to the configuration. Several radios: write [[radio]] with a name, and the tables audio, modem,
## receiver, signal, ptt and transmit as [radio.audio] and so on below it, once for each; the first is radio 0.
##
## Before transmit.enabled: a licence, a real call sign, a control operator, and: ridgepost check, ridgepost exposure.
## Made by \`npm run generate\` out of the schema, which is in src/config.
`

const lineLengthMax = 120

/** The sample of a configuration: every table and key, each behind a '#', so that as it stands it changes nothing. */
export function sampleConfig(root: ConfigTable): string {
  return `${[head.trimEnd(), ...root.tables.filter(isShown).flatMap(tableText)].join('\n')}\n`
}

/** [[radio]] holds the tables of the only radio over again; the head says so. */
const isShown = ({ path }: ConfigTable): boolean => path !== 'radio'

function tableText(table: ConfigTable): string[] {
  const own = table.isList ? `#[[${table.path}]]` : `#[${table.path}]`
  const keys = table.keys.flatMap((key, index) => [
    ...(key.text === table.keys[index - 1]?.text ? [] : wrapped(meaning(key))),
    `#${key.insteadOf === undefined ? '' : '# or: '}${key.name} = ${shownValue(key, table)}`,
  ])
  return ['', ...wrapped(table.text), own, ...keys, ...table.tables.flatMap(tableText)]
}

/** What it means, with the values that it may have unless the words name them. */
export function meaning({ text, schema }: ConfigKey): string {
  const values = schema.enum === undefined ? [] : allowedValues(schema)
  const named = (value: string): boolean =>
    value === '"none"' || text.includes(value.replaceAll('"', ''))
  return values.every(named) ? text : `${text}; one of ${values.join(', ')}`
}

/** An item of a list is an example as a whole; elsewhere the default is shown where there is one. */
function shownValue(key: ConfigKey, table: ConfigTable): string {
  const usual = key.default === undefined ? undefined : tomlValue(key.default)
  return (table.isList ? (key.example ?? usual) : (usual ?? key.example)) ?? '""'
}

/** Strings, numbers, truth values and lists of them look alike in TOML and JSON. */
export const tomlValue = (value: unknown): string =>
  Array.isArray(value) ? `[${value.map(tomlValue).join(', ')}]` : JSON.stringify(value)

function wrapped(text: string): string[] {
  const lines: string[] = []
  for (const word of text.split(' ')) {
    const last = lines.at(-1)
    if (last !== undefined && last.length + 1 + word.length <= lineLengthMax)
      lines[lines.length - 1] = `${last} ${word}`
    else if (word !== '') lines.push(`## ${word}`)
  }
  return lines
}
