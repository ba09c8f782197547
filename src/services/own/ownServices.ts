import { readdir, stat } from 'node:fs/promises'
import { basename, join, resolve } from 'node:path'
import { type Clock, every } from '../../runtime/clock.js'
import { errorText } from '../../runtime/errorText.js'
import { setNewest } from '../../runtime/setNewest.js'
import { standardWordings } from '../../words/air/all.js'
import type { Answer, Service, ServiceActs, ServiceContext } from '../service.js'
import { figuresOf } from './ownFigures.js'
import type { OwnCall, OwnContextData, OwnManifest, OwnSettings } from './ownProtocol.js'
import { type OwnReadinessKeeper, ownReadiness } from './ownReadiness.js'
import { type OwnTable, settingsOf } from './ownSettings.js'
import { type OwnThread, openOwnThread } from './ownThread.js'

export interface OwnServicesOptions {
  /** folder of .mjs files; those that end in .test.mjs are left alone */
  readonly folder: string
  readonly clock: Clock
  readonly timeLimitMs: number
  readonly memoryMb: number
  /** what the operator set, by keyword */
  readonly settings?: Readonly<Record<string, OwnTable>>
  /** keywords that an own service may not take */
  readonly taken: readonly string[]
  readonly onChange: (services: readonly Service[]) => void
  readonly onEvent: (event: OwnServiceEvent) => void
  /** file that each thread begins with; ours when left out */
  readonly threadEntry?: URL
}

export type OwnServiceEvent =
  | { readonly kind: 'ready'; readonly file: string; readonly keyword: string }
  | { readonly kind: 'removed'; readonly file: string; readonly keyword: string }
  | { readonly kind: 'fault'; readonly file: string; readonly reason: string }
  | { readonly kind: 'output'; readonly file: string; readonly line: string }

export interface OwnServices {
  /** settles when the folder was read and each file was loaded or refused */
  readonly ready: Promise<void>
  /** Looks for changes now; the regular looks do the same. */
  look(): Promise<void>
  close(): Promise<void>
}

const lookEveryMs = 5000
const filesMax = 50

interface Loaded {
  readonly thread: OwnThread
  readonly service: Service
  readonly readiness: OwnReadinessKeeper
}

/**
 * Loads every service file of a folder, again after each change, and forgets those that are gone.
 * A changed file that is wrong leaves the service as it was before.
 */
export function openOwnServices(options: OwnServicesOptions): OwnServices {
  const { folder, clock, onEvent } = options
  const loaded = new Map<string, Loaded>()
  /** the mark of each file that was taken up, well or not ('done'), or as it was seen changing */
  const seen = new Map<string, string>()
  let busy: Promise<void> | undefined
  let closed = false
  let first = true

  const load = async (name: string): Promise<void> => {
    const file = join(resolve(folder), name)
    try {
      const { timeLimitMs, memoryMb, threadEntry: entry } = options
      const thread = await openOwnThread({
        ...{ file, clock, timeLimitMs, memoryMb, entry },
        onOutput: (line) => onEvent({ kind: 'output', file: name, line }),
      })
      const { keyword } = thread.manifest
      const other = [...loaded].find(
        ([file, one]) => file !== name && one.service.keyword === keyword,
      )
      if (closed || other !== undefined || options.taken.includes(keyword)) {
        await thread.close()
        const owner = other === undefined ? 'the node itself' : other[0]
        if (!closed) throw new Error(`its keyword "${keyword}" is taken by ${owner}`)
        return
      }
      const fault = (reason: string): void => onEvent({ kind: 'fault', file: name, reason })
      const parts = { clock, onFault: fault }
      const one = await madeService(thread, options.settings?.[keyword] ?? {}, parts)
      await ended(loaded.get(name))
      loaded.set(name, one)
      onEvent({ kind: 'ready', file: name, keyword })
    } catch (error) {
      onEvent({ kind: 'fault', file: name, reason: errorText(error) })
    }
  }

  const lookOnce = async (): Promise<void> => {
    const marks = await marksOf(folder, (reason) => {
      if (first) onEvent({ kind: 'fault', file: basename(folder), reason })
    })
    const atStart = first
    first = false
    if (marks === undefined) return
    let changed = false
    for (const [name, mark] of marks) {
      // Half-written files are left until two looks have seen them alike; not so at the start.
      const settled = atStart || seen.get(name) === mark
      const known = seen.get(name) === `done ${mark}`
      if (known) continue
      if (!settled) seen.set(name, mark)
      else {
        seen.set(name, `done ${mark}`)
        await load(name)
        changed = true
      }
    }
    for (const [name, one] of loaded) {
      // Not waited for: many questions may be before it.
      if (marks.has(name)) void one.readiness.lookNowAndThen()
      else {
        loaded.delete(name)
        seen.delete(name)
        await ended(one)
        onEvent({ kind: 'removed', file: name, keyword: one.service.keyword })
        changed = true
      }
    }
    if (changed && !closed) options.onChange([...loaded.values()].map((one) => one.service))
  }
  const look = (): Promise<void> => {
    busy ??= lookOnce().finally(() => {
      busy = undefined
    })
    return busy
  }
  const ready = look()
  const cancel = every(clock, lookEveryMs, () => void look())
  return {
    ready,
    look,
    async close() {
      closed = true
      cancel()
      await busy
      await Promise.all([...loaded.values()].map(ended))
    },
  }
}

async function ended(one: Loaded | undefined): Promise<void> {
  one?.readiness.close()
  await one?.thread.close()
}

/** Tests and hidden files may stand beside the services. */
const isServiceFile = (name: string): boolean => /^[^.].*(?<!\.test)\.mjs$/.test(name)

/** Name and what changes with the content, of each service file; undefined when the folder cannot be read. */
async function marksOf(
  folder: string,
  onFault: (reason: string) => void,
): Promise<Map<string, string> | undefined> {
  let names: string[]
  try {
    const all = await readdir(folder)
    for (const name of all.filter((one) => /\.(js|cjs|ts|mts)$/.test(one)))
      onFault(`${name} is not taken up: the name of a service ends in .mjs`)
    names = all.filter(isServiceFile).sort()
  } catch (error) {
    onFault(errorText(error))
    return undefined
  }
  if (names.length > filesMax)
    onFault(`it has ${names.length} services, expected ${filesMax} at most`)
  const marks = new Map<string, string>()
  for (const name of names.slice(0, filesMax)) {
    // A file that went away since the folder was read is gone, and no fault.
    const found = await stat(join(folder, name)).catch(() => undefined)
    if (found) marks.set(name, `${found.ino}:${found.size}:${found.mtimeMs}`)
  }
  return marks
}

/** Beyond this many questions at a time a service is overrun. */
const openMax = 20

/** As serviceOf, once it has said whether it is ready; a thread that is of no use is ended. */
async function madeService(
  thread: OwnThread,
  table: OwnTable,
  parts: { readonly clock: Clock; readonly onFault: (reason: string) => void },
): Promise<Loaded> {
  try {
    const made = serviceOf(thread, table, parts)
    await made.readiness.look()
    return { thread, ...made }
  } catch (error) {
    await thread.close()
    throw error
  }
}

/**
 * One question at a time, so that what a service reads in its storage is still true when it writes.
 * @throws Error where the operator's settings are not what it expects
 */
function serviceOf(
  thread: OwnThread,
  table: OwnTable,
  parts: { readonly clock: Clock; readonly onFault: (reason: string) => void },
): Pick<Loaded, 'service' | 'readiness'> {
  const { keyword, summary, usage, messagesMax, synonyms, hearsStations } = thread.manifest
  const { settings, mayAsk } = settingsOf(thread.manifest.settings, table)
  let openCount = 0
  let last: Promise<unknown> = Promise.resolve()
  /** of answers that said so */
  const messagesOf = new Map<string, number>()
  const inTurn = <T>(work: () => Promise<T>): Promise<T> => {
    const mine = last.then(work)
    last = mine.catch(() => {})
    return mine
  }
  const readiness = ownReadiness(thread, settings, { ...parts, inTurn })
  const called = async (call: OwnCall, context: ServiceContext): Promise<Answer> => {
    const data = contextData(thread.manifest, settings, context)
    const answered = await thread.ask(plain(lowered(call)), data)
    const { changes, sends, posts } = answered.effects
    context.storage.write(keyword, new Map(changes.map(([key, json]) => [key, json ?? undefined])))
    for (const { call: to, text } of sends) context.effects.send(keyword, to, text)
    for (const text of posts) context.effects.post(keyword, text)
    if (call.kind === 'question' && answered.messagesMax !== undefined)
      setNewest(messagesOf, call.question.id, answered.messagesMax, openMax)
    return answered.answer
  }
  const calledInTurn = (call: OwnCall, context: ServiceContext): Promise<Answer> => {
    if (openCount >= openMax) throw new Error(`${openMax} questions wait already`)
    openCount++
    // What has become ready since is known before its answer is told.
    if (call.kind === 'question' && readiness.known.state !== 'ready') void readiness.lookAsked()
    const mine = inTurn(() => called(call, context).finally(() => openCount--))
    if (call.kind === 'question') void readiness.lookAsked()
    return mine
  }
  const { everyMinutes } = thread.manifest
  const acts: ServiceActs = {
    everyMs: everyMinutes === undefined ? undefined : everyMinutes * 60_000,
    onHeard: hearsStations,
    act: async (occasion, context) => {
      await calledInTurn(occasion, context)
    },
  }
  const service: Service = {
    ...{ keyword, summary, usage, synonyms, takes: 'text', isOwn: true },
    ...(thread.manifest.saysReady ? { ready: () => readiness.known } : {}),
    ...(everyMinutes !== undefined || hearsStations ? { acts } : {}),
    ...(mayAsk === undefined ? {} : { isFor: (from: string) => isListed(from, mayAsk) }),
    messagesMax: ({ id }) => messagesOf.get(id) ?? messagesMax,
    answer: (question, context) => calledInTurn({ kind: 'question', question }, context),
  }
  return { service, readiness }
}

/** Words come in lower case, whatever a hand-held writes; `rest` is as it was sent. */
const lowered = (call: OwnCall): OwnCall =>
  call.kind !== 'question'
    ? call
    : {
        ...call,
        question: { ...call.question, words: call.question.words.map((one) => one.toLowerCase()) },
      }

const isListed = (call: string, list: readonly string[]): boolean =>
  list.includes(call) || list.includes(call.split('-')[0]!)

const stationsTold = 100
const weatherAgeMaxMs = 2 * 3_600_000
const noticesTold = 10

/** Nothing but data goes to another thread. */
function contextData(
  { keyword, language }: Pick<OwnManifest, 'keyword' | 'language'>,
  settings: OwnSettings,
  context: ServiceContext,
): OwnContextData {
  return plain({
    settings,
    nowWallMs: context.clock.wallMs(),
    askerPosition: context.askerPosition,
    node: context.node,
    stations: context.stations.recent(stationsTold),
    weather: context.stations.weather(weatherAgeMaxMs).slice(0, stationsTold),
    notices: context.notices.recent(noticesTold),
    rehearsal: context.rehearsal,
    stored: Object.fromEntries(context.storage.read(keyword)),
    figures: figuresOf((context.wordings ?? standardWordings).of(language)),
  })
}

/** Without functions and getters, which do not travel. */
const plain = <T>(value: T): T => JSON.parse(JSON.stringify(value)) as T
