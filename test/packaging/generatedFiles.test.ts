import { readFileSync } from 'node:fs'
import { join } from 'node:path'
import { parse } from 'smol-toml'
import { describe, expect, it } from 'vitest'
import { z } from 'zod'
import { commands } from '../../src/cli/commands.js'
import {
  type ConfigTable,
  configJsonSchema,
  configTables,
  type JsonSchema,
} from '../../src/packaging/configKeys.js'
import { generatedFiles } from '../../src/packaging/generatedFiles.js'
import { root } from '../tidy/sources.js'

const read = (path: string): string => readFileSync(join(root, path), 'utf8')

const tables = ({ path, tables: inner }: ConfigTable): ConfigTable[] =>
  inner
    .filter((table) => path !== '' || table.path !== 'radio')
    .flatMap((one) => [one, ...tables(one)])

describe('what is generated', () => {
  it('is as committed; if not: npm run generate', async () => {
    for (const [path, text] of Object.entries(await generatedFiles(read)))
      expect(text, path).toBe(read(path))
  })

  it('has words for every table and key', () => {
    const wordless = tables(configTables()).flatMap(({ path, text, keys }) => [
      ...(text === '' ? [`[${path}]`] : []),
      ...keys.filter((key) => key.text === '').map((key) => `${path}.${key.name}`),
    ])
    expect(wordless).toEqual([])
  })

  it('shows a value of every key: its default, or an example', () => {
    const bare = tables(configTables()).flatMap(({ path, keys }) =>
      keys
        .filter((key) => key.default === undefined && key.example === undefined)
        .map((key) => `${path}.${key.name}`),
    )
    expect(bare).toEqual([])
  })

  it('names every command with every option, as --help does', async () => {
    const reference = (await generatedFiles(read))['README.md']!
    for (const name of Object.keys(commands)) expect(reference).toContain(`**\`ridgepost ${name} `)
    expect(reference).toMatch(/- `--format <name>`: human, json .*\(choices: "human", /)
  })
})

describe('the JSON Schema', () => {
  const schema = configJsonSchema()
  const checker = z.fromJSONSchema(schema as never)
  const sample = read('samples/node.toml')

  it('accepts the sample with every setting switched on', () => {
    expect(sample.startsWith('#:schema ./node.schema.json\n')).toBe(true)
    const settings = parse(sample.replace(/^#(?=[[\w])/gm, ''))
    expect(checker.safeParse(settings).error?.issues).toBeUndefined()
  })

  it.each([
    ['a key that there is not', { station: { altitude: 3 } }],
    ['a wrong type', { transmit: { enabled: 'yes' } }],
    ['a number beyond its limit', { node: { window: 5 } }],
    ['a value that is none of those', { receiver: { repair: 'wild' } }],
  ])('refuses %s', (_, document) => {
    expect(checker.safeParse(document).success).toBe(false)
  })

  it('says of every key what it means, its unit and its default', () => {
    const keep = schema.properties!.node!.properties!.mailbox!.properties!.keepDays!
    expect(keep.description).toBe(
      'days until a message that nobody collected goes back to its sender. Unit: days. Default: 7.',
    )
    const undescribed: string[] = []
    const look = (path: string, one: JsonSchema): void => {
      if ((one.description ?? '') === '' && path !== '' && path !== '.radio') undescribed.push(path)
      for (const [name, inner] of Object.entries((one.items ?? one).properties ?? {}))
        look(`${path}.${name}`, inner)
    }
    look('', schema)
    expect(undescribed).toEqual([])
  })
})
