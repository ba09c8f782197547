import type { OwnSetting, OwnSettings } from './ownProtocol.js'

/** A service's table of the configuration: its settings, and who may ask it. */
export type OwnTable = Readonly<Record<string, string | number | boolean | readonly string[]>>

/** Calls that may ask, with SSID or without for every SSID; everybody where it is left out. */
const mayAskKey = 'mayAsk'

/**
 * What the operator set, checked by the service's own schema, with its defaults.
 * @throws Error that names the key, what was got and what was expected
 */
export function settingsOf(
  schema: Readonly<Record<string, OwnSetting>>,
  table: OwnTable,
): { readonly settings: OwnSettings; readonly mayAsk: readonly string[] | undefined } {
  const settings: Record<string, OwnTable[string]> = {}
  for (const [key, value] of Object.entries(table)) {
    const wrong = (expected: string): Error =>
      new Error(`settings: ${key}: got ${JSON.stringify(value)}, expected ${expected}`)
    if (key === mayAskKey) {
      if (!isTexts(value)) throw wrong('a list of call signs')
      continue
    }
    const setting = Object.hasOwn(schema, key) ? schema[key] : undefined
    if (setting === undefined)
      throw wrong(`one of ${[...Object.keys(schema), mayAskKey].join(', ')}`)
    const expected = unlike(setting, value)
    if (expected !== undefined) throw wrong(expected)
    settings[key] = value
  }
  for (const [key, setting] of Object.entries(schema)) {
    if (Object.hasOwn(settings, key)) continue
    if (setting.default === undefined)
      throw new Error(`settings: ${key}: got nothing, expected a ${setting.type}; set it`)
    settings[key] = setting.default
  }
  const mayAsk = table[mayAskKey]
  return {
    settings,
    mayAsk: isTexts(mayAsk) ? mayAsk.map((call) => call.toUpperCase()) : undefined,
  }
}

const isTexts = (value: unknown): value is readonly string[] =>
  Array.isArray(value) && value.every((one) => typeof one === 'string')

/** What was expected in the place of a value that is not right. */
function unlike(setting: OwnSetting, value: unknown): string | undefined {
  switch (setting.type) {
    case 'text':
      return typeof value === 'string' ? undefined : 'a text'
    case 'boolean':
      return typeof value === 'boolean' ? undefined : 'true or false'
    case 'texts':
      return isTexts(value) ? undefined : 'a list of texts'
    case 'number': {
      const { min = -Infinity, max = Infinity } = setting
      if (typeof value !== 'number') return 'a number'
      return value >= min && value <= max ? undefined : `a number from ${min} to ${max}`
    }
  }
}
