import type { OwnChanges, OwnData } from './ownProtocol.js'

/** All of it travels to the service's thread with each question. */
const keysMax = 1000
const keyCharactersMax = 100
const valueCharactersMax = 20_000
const charactersMax = 500_000

/** What a service keeps, as it sees it while it answers one question; `changes` is what it did to it. */
export function ownData(stored: Readonly<Record<string, string>>): {
  readonly data: OwnData
  changes(): OwnChanges
} {
  const texts = new Map(Object.entries(stored))
  const changed = new Set<string>()
  let characters = 0
  for (const [key, json] of texts) characters += key.length + json.length

  const data: OwnData = {
    get(key) {
      const json = texts.get(key)
      return json === undefined ? undefined : JSON.parse(json)
    },
    set(key, value) {
      const json = textOf(key, value)
      const before = texts.get(key)
      const after = characters + json.length - (before === undefined ? -key.length : before.length)
      if (before === undefined && texts.size >= keysMax)
        throw new RangeError(`data.set: ${keysMax} keys are kept already; delete some`)
      if (after > charactersMax)
        throw new RangeError(`data.set: more than ${charactersMax} characters in all`)
      characters = after
      texts.set(key, json)
      changed.add(key)
    },
    delete(key) {
      const before = texts.get(key)
      if (before === undefined) return
      characters -= key.length + before.length
      texts.delete(key)
      changed.add(key)
    },
    list: (beginning = '') =>
      [...texts]
        .filter(([key]) => key.startsWith(beginning))
        .sort(([a], [b]) => (a < b ? -1 : 1))
        .map(([key, json]) => [key, JSON.parse(json) as unknown]),
  }
  return { data, changes: () => [...changed].map((key) => [key, texts.get(key) ?? null]) }
}

function textOf(key: unknown, value: unknown): string {
  if (typeof key !== 'string' || key === '' || key.length > keyCharactersMax)
    throw new RangeError(`data.set: a key is a text of 1 to ${keyCharactersMax} characters`)
  const json = JSON.stringify(value) as string | undefined
  if (json === undefined)
    throw new RangeError(`data.set: ${key}: ${typeof value} cannot be kept; delete removes a key`)
  if (json.length > valueCharactersMax)
    throw new RangeError(
      `data.set: ${key}: ${json.length} characters as JSON, expected ${valueCharactersMax} at most`,
    )
  return json
}
