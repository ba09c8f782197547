import { readFileSync } from 'node:fs'
import { join } from 'node:path'
import { parse } from 'smol-toml'
import { describe, expect, it } from 'vitest'
import { parseConfig } from '../../src/config/load.js'
import { configSchema } from '../../src/config/schema.js'
import { root } from '../tidy/sources.js'

const text = readFileSync(join(root, 'samples/node.toml'), 'utf8')
/** With every setting switched on. */
const settings = text.replace(/^#(?=[[\w])/gm, '')

interface Described {
  readonly type: string
  readonly properties?: Record<string, Described>
  readonly items?: Described
}

/** Every key of the schema, 'transmit.morse.enabled'. */
function keysOf(described: Described, path: string): string[] {
  const { properties } = described.items ?? described
  if (properties === undefined) return [path]
  return Object.entries(properties).flatMap(([name, inner]) =>
    keysOf(inner, path === '' ? name : `${path}.${name}`),
  )
}

function valueKeysOf(value: unknown, path: string): string[] {
  if (Array.isArray(value) && typeof value[0] === 'object') return valueKeysOf(value[0], path)
  if (typeof value !== 'object' || value === null || Array.isArray(value)) return [path]
  if (Object.keys(value).length === 0) return [path]
  return Object.entries(value).flatMap(([name, inner]) =>
    valueKeysOf(inner, path === '' ? name : `${path}.${name}`),
  )
}

describe('samples/node.toml', () => {
  it('as it stands it is the default configuration', () => {
    expect(parseConfig(text, 'node.toml')).toEqual(parseConfig('', 'empty.toml'))
  })

  it('with every setting switched on it is still valid', async () => {
    expect(() => parseConfig(settings, 'node.toml')).not.toThrow()
  })

  it('names every key that there is', async () => {
    const { z } = await import('zod')
    const described = z.toJSONSchema(configSchema, { io: 'input', unrepresentable: 'any' })
    const wanted = keysOf(described as unknown as Described, '').filter(
      (key) => !key.startsWith('radio.') && !alternatives.includes(key),
    )
    const named = new Set(valueKeysOf(parse(settings), ''))
    expect(wanted.filter((key) => !named.has(key))).toEqual([])
  })
})

/** Stand in a comment beside the key that they may replace. */
const alternatives = [
  ...['beacons.schedule.cron', 'beacons.telemetry.command', 'beacons.antenna.rangeKm'],
]
