// What the test of an own service imports, as 'ridgepost/testing': a node that has the service's data, ids and limits.
import { standardWordings } from '../../words/air/all.js'
import { geodesicBetween } from '../geo/geodesic.js'
import { wayWords } from '../geo/words.js'
import { splitAnswer } from '../splitAnswer.js'
import { readAnswer, readManifest, readReadiness } from './manifest.js'
import { ownData } from './ownData.js'
import { ownEffects } from './ownEffects.js'
import type { OwnContext, OwnManifest, OwnReadiness, OwnService } from './ownProtocol.js'
import { type OwnTable, settingsOf } from './ownSettings.js'

/** What is different from a node at 45.2 N 36.8 W on 21 June 2026, 16:00 UTC, that has heard nothing. */
export interface TestNodeSetting {
  readonly nowWallMs?: number
  readonly settings?: OwnTable
  readonly node?: Partial<OwnContext['node']>
  readonly askerPosition?: OwnContext['askerPosition']
  readonly stations?: OwnContext['stations']
  readonly weather?: OwnContext['weather']
  readonly notices?: OwnContext['notices']
}

/** What came of one call of the service. */
export interface Outcome {
  /** as they would go out, each of 67 characters at most */
  readonly messages: readonly string[]
  readonly sent: readonly { readonly call: string; readonly text: string }[]
  readonly posted: readonly string[]
}

/** One node with one service. */
export interface ServiceTest {
  /** A question; `id` is that of a question that is asked again, after a node went down before its answer was kept. */
  ask(text: string, more?: { readonly from?: string; readonly id?: string }): Promise<Outcome>
  /** The same, with nothing kept of it. */
  rehearse(text: string, from?: string): Promise<Outcome>
  /** As if the service's minutes had gone by, and its turn come. */
  tick(): Promise<Outcome>
  heard(call: string): Promise<Outcome>
  /** Whether it says that it can answer: what is not ready is not offered. */
  ready(): Promise<OwnReadiness>
  /** Goes on in time, without a turn of the service. */
  pass(ms: number): void
  /** What is kept, by key. */
  kept(): Readonly<Record<string, unknown>>
}

/**
 * @param service what the file exports as its default
 * @throws Error that says what the node would refuse about the service or its settings
 */
export function testService(service: OwnService, setting: TestNodeSetting = {}): ServiceTest {
  const read = readManifest(service)
  if (!read.ok) throw new Error(read.reason)
  const { manifest } = read
  const { settings } = settingsOf(manifest.settings, setting.settings ?? {})
  let nowWallMs = setting.nowWallMs ?? Date.UTC(2026, 5, 21, 16)
  let asked = 0
  const stored = new Map<string, string>()

  const call = async (
    run: (context: OwnContext) => unknown,
    isQuestion: boolean,
    rehearsal: boolean,
  ): Promise<Outcome> => {
    const { data, changes } = ownData(Object.fromEntries(stored))
    const { sends, posts, send, post } = ownEffects()
    const context = {
      ...worldOf(setting, nowWallMs, manifest.language),
      settings,
      rehearsal,
      data,
      send,
      post,
    }
    const messages = messagesOf(await run(context), isQuestion, manifest)
    if (!rehearsal)
      for (const [key, json] of changes())
        if (json === null) stored.delete(key)
        else stored.set(key, json)
    return { messages, sent: sends, posted: posts }
  }
  const question = (text: string, from: string, id: string) => {
    const rest = text.trim()
    return { id, from, text, rest, words: rest === '' ? [] : rest.toLowerCase().split(/\s+/) }
  }

  return {
    ask: (text, { from = 'N0CALL-7', id = `Q${++asked}` } = {}) =>
      call((context) => service.answer(question(text, from, id), context), true, false),
    rehearse: (text, from = 'N0CALL-7') =>
      call((context) => service.answer(question(text, from, 'ask-1'), context), true, true),
    tick() {
      nowWallMs += (manifest.everyMinutes ?? 0) * 60_000
      return call((context) => service.every?.run(context), false, false)
    },
    heard: (station) =>
      call((context) => service.onHeard?.(heardStation(station, nowWallMs), context), false, false),
    ready: async () =>
      manifest.saysReady
        ? readReadiness(await service.ready?.({ nowWallMs, settings }))
        : { state: 'ready' },
    pass(ms) {
      nowWallMs += ms
    },
    kept: () => Object.fromEntries([...stored].map(([key, json]) => [key, JSON.parse(json)])),
  }
}

const heardStation = (call: string, lastHeardWallMs: number) => ({
  ...{ call, lastHeardWallMs, via: ['direct'], frameCount: 1 },
})

function messagesOf(given: unknown, isQuestion: boolean, manifest: OwnManifest): string[] {
  if (!isQuestion) return []
  const answered = readAnswer(given)
  if (answered === undefined)
    throw new Error(`it answered with ${typeof given}, expected a text or a list of texts`)
  const { answer, messagesMax = manifest.messagesMax } = answered
  return splitAnswer(answer, { messagesMax })
}

type World = Omit<OwnContext, 'settings' | 'rehearsal' | 'data' | 'send' | 'post'>

function worldOf(setting: TestNodeSetting, nowWallMs: number, language: string | undefined): World {
  const node: OwnContext['node'] = {
    ...{ call: 'N0CALL-10', position: { latitudeDeg: 45.2, longitudeDeg: -36.8 } },
    ...{ positionSource: 'config', timeSource: 'system', utcOffsetMinutes: 0 },
    ...{ units: 'km', heightM: 900, ...setting.node },
  }
  return {
    ...{ nowWallMs, node, askerPosition: setting.askerPosition },
    stations: setting.stations ?? [],
    weather: setting.weather ?? [],
    notices: setting.notices ?? [],
    way: geodesicBetween,
    wayWords: (from, to) =>
      wayWords(geodesicBetween(from, to), node.units, standardWordings.of(language)),
  }
}
