import type { OwnChanges, OwnStorage } from './ownProtocol.js'

/** All of it travels to the service's thread with each question. */
const keysMax = 1000
const keyCharactersMax = 100
const valueCharactersMax = 20_000
const charactersMax = 500_000

/** What a service keeps, as it sees it while it answers one question; `changes` is what it did to it. */
export function ownStorage(stored: Readonly<Record<string, string>>): {
  readonly storage: OwnStorage
  changes(): OwnChanges
} {
  const texts = new Map(Object.entries(stored))
  const changed = new Set<string>()
  let characters = 0
  for (const [key, json] of texts) characters += key.length + json.length

  const storage: OwnStorage = {
    get(key) {
      const json = texts.get(key)
      return json === undefined ? undefined : JSON.parse(json)
    },
    set(key, value) {
      const json = textOf(key, value)
      const before = texts.get(key)
      const after = characters + json.length - (before === undefined ? -key.length : before.length)
      if (before === undefined && texts.size >= keysMax)
        throw new RangeError(`storage.set: ${keysMax} keys are kept already; delete some`)
      if (after > charactersMax)
        throw new RangeError(`storage.set: more than ${charactersMax} characters in all`)
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
    keys: () => [...texts.keys()].sort(),
  }
  return { storage, changes: () => [...changed].map((key) => [key, texts.get(key) ?? null]) }
}

function textOf(key: unknown, value: unknown): string {
  if (typeof key !== 'string' || key === '' || key.length > keyCharactersMax)
    throw new RangeError(`storage.set: a key is a text of 1 to ${keyCharactersMax} characters`)
  const json = JSON.stringify(value) as string | undefined
  if (json === undefined)
    throw new RangeError(
      `storage.set: ${key}: ${typeof value} cannot be kept; delete removes a key`,
    )
  if (json.length > valueCharactersMax)
    throw new RangeError(
      `storage.set: ${key}: ${json.length} characters as JSON, expected ${valueCharactersMax} at most`,
    )
  return json
}
