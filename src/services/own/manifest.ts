import { isRecord } from '../../runtime/isRecord.js'
import type { Answer } from '../service.js'
import type { OwnAnswer, OwnManifest, OwnReadiness, OwnService, OwnSetting } from './ownProtocol.js'

type Read<Value> =
  | { readonly ok: true; readonly value: Value }
  | { readonly ok: false; readonly reason: string }

const wrong = (reason: string) => ({ ok: false, reason }) as const
const isWord = (word: unknown): word is string =>
  typeof word === 'string' && /^[a-z][a-z0-9-]{1,10}[a-z0-9]$/.test(word)
const minutesMax = 7 * 24 * 60

/** Checks what a file exports; says in words what is wrong with it. */
export function readManifest(
  exported: unknown,
):
  | { readonly ok: true; readonly manifest: OwnManifest; readonly service: OwnService }
  | { readonly ok: false; readonly reason: string } {
  if (typeof exported !== 'object' || exported === null)
    return wrong(
      'it exports no default, expected an object with keyword, summary, usage and answer',
    )
  const service = exported as OwnService
  const { keyword, summary, usage, messagesMax = 3, answer, every, onHeard, ready } = service
  if (!isWord(keyword))
    return wrong(
      `keyword: got ${JSON.stringify(keyword)}, expected 3 to 12 lower-case letters, digits and hyphens, a letter first`,
    )
  for (const [name, value] of Object.entries({ summary, usage }))
    if (typeof value !== 'string' || value === '' || value.length > 67)
      return wrong(`${name}: got ${JSON.stringify(value)}, expected a text of 1 to 67 characters`)
  if (!isMessagesMax(messagesMax))
    return wrong(`messagesMax: got ${JSON.stringify(messagesMax)}, expected 1 to 10`)
  if (typeof answer !== 'function') return wrong('answer: expected a function')
  if (onHeard !== undefined && typeof onHeard !== 'function')
    return wrong('onHeard: expected a function')
  if (ready !== undefined && typeof ready !== 'function') return wrong('ready: expected a function')
  const isTimed = every !== undefined
  if (isTimed && !(every?.minutes >= 1 && every.minutes <= minutesMax))
    return wrong(
      `every.minutes: got ${JSON.stringify(every?.minutes)}, expected 1 to ${minutesMax}`,
    )
  if (isTimed && typeof every.run !== 'function') return wrong('every.run: expected a function')
  const words = readWords(service)
  if (!words.ok) return words
  const settings = readSettings(service.settings)
  if (!settings.ok) return settings
  const more = {
    ...{ everyMinutes: every?.minutes, hearsStations: onHeard !== undefined },
    saysReady: ready !== undefined,
  }
  const manifest = { keyword, summary, usage, messagesMax, ...words.value, ...more }
  return { ok: true, manifest: { ...manifest, settings: settings.value }, service }
}

function readWords({
  synonyms = [],
  language,
}: OwnService): Read<Pick<OwnManifest, 'synonyms' | 'language'>> {
  if (!Array.isArray(synonyms) || synonyms.length > 20 || !synonyms.every(isWord))
    return wrong(
      `synonyms: got ${JSON.stringify(synonyms)}, expected at most 20 words of the keyword's form`,
    )
  if (language !== undefined && !(typeof language === 'string' && /^[a-z]{2}$/.test(language)))
    return wrong(`language: got ${JSON.stringify(language)}, expected two letters such as 'en'`)
  return { ok: true, value: { synonyms, language } }
}

const settingTypes: readonly unknown[] = ['text', 'number', 'boolean', 'texts']

function readSettings(given: unknown = {}): Read<Readonly<Record<string, OwnSetting>>> {
  if (!isRecord(given)) return wrong('settings: expected an object with a { type } for each key')
  const settings: Record<string, OwnSetting> = {}
  for (const [key, setting] of Object.entries(given)) {
    const type = (setting as { type?: unknown } | null)?.type
    if (!/^[a-zA-Z]\w{0,39}$/.test(key) || key === 'mayAsk' || !settingTypes.includes(type))
      return wrong(`settings.${key}: expected { type: 'text', 'number', 'boolean' or 'texts' }`)
    settings[key] = setting as OwnSetting
  }
  return { ok: true, value: JSON.parse(JSON.stringify(settings)) as typeof settings }
}

const isMessagesMax = (value: unknown): value is number =>
  Number.isInteger(value) && Number(value) >= 1 && Number(value) <= 10

/** What a service answered, in one form; undefined for what is no answer. */
export function readAnswer(
  value: unknown,
): { readonly answer: Answer; readonly messagesMax: number | undefined } | undefined {
  if (isTexts(value)) return { answer: value, messagesMax: undefined }
  const { text, messagesMax } = (value ?? {}) as Extract<OwnAnswer, { messagesMax: number }>
  return isTexts(text) && isMessagesMax(messagesMax) ? { answer: text, messagesMax } : undefined
}

const reasonCharactersMax = 67

/**
 * Whether a service said that it is ready, and nothing else of what it gave.
 * @throws Error that says what was expected
 */
export function readReadiness(value: unknown): OwnReadiness {
  const { state, reason } = (value ?? {}) as { state?: unknown; reason?: unknown }
  if (state === 'ready') return { state }
  if (state !== 'stale' && state !== 'empty')
    throw new Error(`ready: state: got ${shown(state)}, expected "ready", "stale" or "empty"`)
  const isReason = typeof reason === 'string' && reason.length <= reasonCharactersMax
  if (!isReason || !/^[^\p{C}]*\p{L}[^\p{C}]*$/u.test(reason))
    throw new Error(
      `ready: reason: got ${shown(reason)}, expected a text of 1 to ${reasonCharactersMax} characters`,
    )
  return { state, reason }
}

const shown = (value: unknown): string =>
  typeof value === 'string' ? JSON.stringify(value.slice(0, 80)) : typeof value

function isTexts(value: unknown): value is string | readonly string[] {
  const isText = (one: unknown): boolean => typeof one === 'string' && one.length <= 5000
  return isText(value) || (Array.isArray(value) && value.length <= 100 && value.every(isText))
}
