import { bookFor, type Refusals } from '../../../src/node/hills/book.js'
import type { Entry, EntryKind } from '../../../src/node/hills/entry.js'
import type { Book } from '../../../src/node/hills/exchange.js'
import type {
  HillOptions,
  HillParts,
  LifeMark,
  NeighbourOptions,
} from '../../../src/node/hills/hillParts.js'
import { type Ledger, ledger } from '../../../src/node/hills/ledger.js'
import type { EventDetail } from '../../../src/node/journal.js'
import { callSignProblem } from '../../../src/regulations/callSign.js'
import { defaultNodeOptions } from '../../../src/setup/defaultOptions.js'
import type { HillRow } from '../../../src/store/hills.js'
import type { Store } from '../../../src/store/store.js'
import { standardWordings } from '../../../src/words/air/all.js'
import { openTestStore } from '../../store/openTestStore.js'

export const own = 'Q1OWN'
export const peer = 'Q2BBB'
export const minuteMs = 60_000
export const hourMs = 60 * minuteMs
export const dayMs = 24 * hourMs

const allKinds = ['message', 'letter', 'notice', 'stations', 'weather', 'directory'] as const

export interface BenchChange {
  readonly options?: Partial<HillOptions>
  readonly node?: Parameters<typeof defaultNodeOptions>[0]
  readonly letters?: HillParts['letters']
  readonly lifeMark?: LifeMark
}

export const letterOptions = { octetsMax: 1000, perStation: 3, total: 5, keepMs: 30 * dayMs }

/** What one node shares with all others, with its real database in memory, and everything that it tells noted down. */
export function ledgerBench(change: BenchChange = {}) {
  const { store, clock } = openTestStore()
  const notes: unknown[] = []
  const messages: { to: string; text: string; radio: number; notAfterWallMs: number }[] = []
  const news: string[] = []
  const soon: string[] = []
  /** what was asked of the database while it was broken */
  const failed: string[] = []
  const state = { isTrusted: true, isBroken: false, steps: 0, wallOffsetMs: 0 }
  const wall = { ...clock, wallMs: () => clock.wallMs() + state.wallOffsetMs }
  const breakable: Partial<Store> = {
    durably: (doing, work) => {
      if (!state.isBroken) return store.durably(doing, work)
      failed.push(doing)
      return { ok: false, failure: { action: doing } as never }
    },
    reading: (doing, otherwise, read) => {
      if (!state.isBroken) return store.reading(doing, otherwise, read)
      failed.push(doing)
      return otherwise
    },
  }
  let numbers = 0
  let ids = 0
  const parts: HillParts = {
    ...{ clock: wall, store: Object.assign(Object.create(store) as Store, breakable) },
    clockTrust: {
      trusted: () => state.isTrusted,
      confirmed: () => state.isTrusted,
      get steps() {
        return { count: state.steps, lastMs: 0 }
      },
      gpsSays: () => {},
      wasAhead: () => {},
    },
    note: (kind, text, detail: EventDetail = {}) => void notes.push({ kind, text, ...detail }),
    options: {
      ...{ own, radio: 0, senders: [], news: [], announceMs: hourMs, everyMs: hourMs },
      ...{ quietMs: 1000, dutyShare: 0.05, neighbours: [] },
      isLicensed: (name) => callSignProblem(name) === undefined,
      ...change.options,
    },
    nodeOptions: defaultNodeOptions({ call: own, ...change.node }),
    wording: () => standardWordings.of('en'),
    ...{ letters: change.letters, lifeMark: change.lifeMark },
    newNumber: () => String(++numbers),
    radioFor: (call) => call.length,
    outbox: {
      add: (told) => {
        for (const { to, text, radio, notAfterWallMs } of told)
          messages.push({ to, text, radio, notAfterWallMs })
      },
    },
    tellSoon: (call) => void soon.push(call),
    tellNews: (node, number, text) => void news.push(`${node} ${number} ${text}`),
  }
  return {
    ...{ store, clock, parts, state, notes, messages, news, soon, failed },
    make: (): Ledger => ledger(parts, () => `id ${++ids}`),
    /** the entries as they stand, oldest first */
    rows: (kind?: EntryKind) =>
      store.hills
        .recent(999)
        .reverse()
        .filter((row) => kind === undefined || row.kind === kind),
    durably: (work: () => void) => {
      if (!store.durably('a test', work).ok) throw new Error('the database does not take it')
    },
  }
}
export type Bench = ReturnType<typeof ledgerBench>

export const trustingNeighbour: NeighbourOptions = {
  ...{ call: peer, takes: allKinds, gives: allKinds },
}

export const bookOf = (
  of: Ledger,
  neighbour: Partial<NeighbourOptions> = {},
  refusals: Refusals = new Map(),
): Book => bookFor(of, { ...trustingNeighbour, ...neighbour }, refusals)

/** What a neighbour hands over, but for the change: a message that began there. */
export const entryOf = (change: Partial<Entry> = {}): Entry => ({
  ...{ id: `${peer}.ABCDEFGHJK`, kind: 'message', from: 'Q3SND', to: 'Q4RCV', subject: '' },
  ...{ text: 'hello', ageMin: 5, lifeMin: 60, trace: [peer], ...change },
})

/** An entry that lies here, but for the change: a message of another node. */
export const putRow = (bench: Bench, change: Partial<HillRow> = {}): void =>
  bench.durably(() =>
    bench.store.hills.insert({
      ...{
        entryId: `${peer}.ABCDEFGHJK`,
        kind: 'message',
        from: 'Q3SND',
        to: 'Q4RCV',
        subject: '',
      },
      ...{ text: 'hello', writtenWallMs: 0, expiresWallMs: Date.UTC(2027, 0), expiryTrusted: true },
      ...{ trace: '', cameFrom: undefined, peer: undefined, outcome: undefined, local: undefined },
      ...{ state: 'here', ...change },
    }),
  )

/** Somebody leaves a message here. */
export const leaveMail = (bench: Bench, questionId = 'q1', change: object = {}): void =>
  bench.durably(() => {
    const leftWallMs = bench.clock.wallMs()
    const life = { leftWallMs, expiresWallMs: leftWallMs + 2 * dayMs, expiryTrusted: true }
    const mail = { questionId, from: 'Q3SND', to: 'Q4RCV', text: 'hello', ...life, ...change }
    bench.store.mailbox.insert(mail)
  })

export const leaveLetter = (bench: Bench): void =>
  bench.durably(() => {
    const letter = { from: 'Q3SND', to: 'Q4RCV', subject: 'a walk', text: 'b', leftWallMs: 0 }
    bench.store.letters.insert({ ...letter, expiresWallMs: 0, expiryTrusted: true })
  })

/** of an entry: its state, with whom it is, what became of it */
export const stateOf = (bench: Bench, entryId = `${peer}.ABCDEFGHJK`): string => {
  const row = bench.store.hills.find(entryId)
  return row === undefined ? 'unknown' : [row.state, row.peer, row.outcome].join(' ').trimEnd()
}
