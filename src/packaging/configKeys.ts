import { fileURLToPath } from 'node:url'
import { z } from 'zod'
import { configSchema } from '../config/schema.js'
import { type KeyComment, keyComments } from './keyComments.js'

/** As much of JSON Schema as zod makes of our schema. @see JSON Schema, draft 7: more editors know it than later ones */
export interface JsonSchema {
  type?: string
  description?: string
  default?: unknown
  enum?: readonly unknown[]
  anyOf?: readonly JsonSchema[]
  minimum?: number
  maximum?: number
  exclusiveMinimum?: number
  minLength?: number
  maxLength?: number
  minItems?: number
  maxItems?: number
  properties?: Record<string, JsonSchema>
  items?: JsonSchema
  required?: string[]
  [key: string]: unknown
}

export interface ConfigKey extends KeyComment {
  readonly name: string
  /** in words, from the end of its name: 'milliseconds' */
  readonly unit: string | undefined
  /** undefined where it has none */
  readonly default: unknown
  readonly schema: JsonSchema
}

export interface ConfigTable {
  /** 'transmit.morse'; '' for the whole */
  readonly path: string
  /** [[…]]: there may be several */
  readonly isList: boolean
  readonly text: string
  readonly keys: readonly ConfigKey[]
  readonly tables: readonly ConfigTable[]
}

/** Every table and key of the configuration, with what the schema and its comments say of it. */
export function configTables(): ConfigTable {
  const file = fileURLToPath(new URL('../config/schema.ts', import.meta.url))
  return tableOf('', plainSchema(), keyComments(file, 'configSchema'))
}

/** The schema as JSON Schema, for editors: every description names unit and default. */
export function configJsonSchema(): JsonSchema {
  const schema = plainSchema()
  describeKeys(schema, configTables())
  return schema
}

function plainSchema(): JsonSchema {
  const options = { target: 'draft-7', io: 'input', unrepresentable: 'any' } as const
  return z.toJSONSchema(configSchema, options) as JsonSchema
}

const isTable = (schema: JsonSchema): boolean => (schema.items ?? schema).properties !== undefined

function tableOf(path: string, schema: JsonSchema, comment: KeyComment): ConfigTable {
  const { properties = {}, required = [] } = schema.items ?? schema
  const keys: ConfigKey[] = []
  const tables: ConfigTable[] = []
  for (const [name, inner] of Object.entries(properties)) {
    const own = comment.inner.get(name) ?? { text: '', inner: new Map() }
    if (isTable(inner)) tables.push(tableOf(path === '' ? name : `${path}.${name}`, inner, own))
    else
      keys.push({
        ...own,
        name,
        unit: unitOf(name),
        // Of zod's schema, what is never written is not required, and has no default either.
        default: required.includes(name) ? undefined : inner.default,
        schema: inner,
      })
  }
  return { path, isList: schema.items !== undefined, text: comment.text, keys, tables }
}

/** Of a key that may be one of several: these, as TOML. */
export const allowedValues = (schema: JsonSchema): string[] =>
  schema.type === 'boolean'
    ? ['true', 'false']
    : (schema.enum ?? []).map((value) => JSON.stringify(value))

/** Ends of names; the longer of two that fit comes first. */
const units: readonly (readonly [end: string, words: string])[] = [
  ['WPerM2', 'W/m²'],
  ['Minutes', 'minutes'],
  ['Hours', 'hours'],
  ['Days', 'days'],
  ['Percent', 'percent'],
  ['MHz', 'MHz'],
  ['Hz', 'Hz'],
  ['Dbfs', 'dB below full scale'],
  ['Dbi', 'dBi'],
  ['Db', 'dB'],
  ['Deg', 'degrees'],
  ['Km', 'km'],
  ['Mb', 'MB'],
  ['Ms', 'milliseconds'],
  ['S', 'seconds'],
  ['M', 'metres'],
  ['W', 'watts'],
  ['Octets', 'octets'],
]

function unitOf(name: string): string | undefined {
  const bare = name.replace(/M(ax|in)$/, '')
  return units.find(([end]) => bare.endsWith(end))?.[1]
}

/** Fills in the descriptions, and takes out what an editor would only offer as noise. */
function describeKeys(schema: JsonSchema, table: ConfigTable): void {
  const { properties = {} } = schema.items ?? schema
  for (const key of table.keys) {
    const inner = properties[key.name]!
    const parts = [
      key.text,
      ...(key.unit === undefined ? [] : [`Unit: ${key.unit}.`]),
      ...(key.default === undefined ? [] : [`Default: ${JSON.stringify(key.default)}.`]),
    ]
    inner.description = parts.join(parts[0]!.endsWith('.') ? ' ' : '. ').replace(/\.\. /g, '. ')
  }
  for (const one of table.tables) {
    const inner = properties[one.path.split('.').at(-1)!]!
    delete inner.default
    if (one.text !== '') inner.description = one.text
    describeKeys(inner, one)
  }
}
