import { copyFileSync, existsSync, rmSync } from 'node:fs'
import { join } from 'node:path'
import { airtimeShare } from '../../../src/node/hills/airtimeShare.js'
import { bookFor } from '../../../src/node/hills/book.js'
import { type Exchange, exchange } from '../../../src/node/hills/exchange.js'
import type { HillParts, LifeMark, NeighbourOptions } from '../../../src/node/hills/hillParts.js'
import { characters, entryOfQuestion } from '../../../src/node/hills/ids.js'
import { type Ledger, ledger } from '../../../src/node/hills/ledger.js'
import { type Mail, mail } from '../../../src/node/mail.js'
import type { NodeOptions } from '../../../src/node/options.js'
import type { Outbox } from '../../../src/node/outbox.js'
import { callSignProblem } from '../../../src/regulations/callSign.js'
import type { Clock } from '../../../src/runtime/clock.js'
import { type ClockTrust, clockTrust } from '../../../src/runtime/clockTrust.js'
import type { Random } from '../../../src/runtime/random.js'
import type { VirtualClock } from '../../../src/runtime/virtualClock.js'
import { defaultNodeOptions } from '../../../src/setup/defaultOptions.js'
import type { MessageRecord } from '../../../src/store/messages.js'
import { type OpenSqlite, openSqlite } from '../../../src/store/sqliteDriver.js'
import { openStore, type Store } from '../../../src/store/store.js'
import { standardWordings } from '../../../src/words/air/all.js'
import { defaultStoreOptions } from '../../store/openTestStore.js'

/** Thrown where the power fails: what was in memory is gone, what was committed is there. */
export class PowerCut extends Error {
  /**
   * @param step what was being written
   * @param committed whether it is on the disk
   */
  constructor(
    readonly hill: SimHill,
    readonly step: string,
    readonly committed: boolean,
  ) {
    super('the power fails')
  }
}

export interface SimHillOptions {
  readonly clock: VirtualClock
  readonly random: Random
  readonly call: string
  readonly neighbours: readonly string[]
  /** where its database lies; '' in memory */
  readonly folder: string
  /** told each report that goes to a sender */
  readonly onReport: (to: string, text: string) => void
  readonly dutyShare?: number
  readonly note?: HillParts['note']
  /** told each power cut of its own */
  readonly onCut?: (cut: PowerCut) => void
  /** a file beside the database tells of a copy in its place; else only the neighbours can */
  readonly withMark?: boolean
}

/** A node's exchange with others without its radio: the real ledger, mailbox and database; sessions are lines. */
export class SimHill {
  readonly name: string
  store!: Store
  ledger!: Ledger
  mail!: Mail
  /** added to the wall clock */
  wallOffsetMs = 0
  /** the power fails at the transaction after so many, before or after it is on the disk */
  cut: { after: number; committed: boolean } | undefined
  share
  worstUsedMs = 0
  /** shown to its receiver, whose acknowledgement was lost with the power */
  private readonly shown = new Set<string>()
  private readonly file: string
  private readonly clock: Clock
  private readonly options: NodeOptions
  private mark: { epoch: string; step: number } | undefined
  private trust!: ClockTrust
  private ids = 0

  constructor(private readonly given: SimHillOptions) {
    const { clock, call } = given
    this.name = call
    this.file = given.folder === '' ? ':memory:' : join(given.folder, `${call}.db`)
    this.share = airtimeShare(clock, given.dutyShare ?? 0.05)
    this.clock = {
      monotonicMs: () => clock.monotonicMs(),
      wallMs: () => clock.wallMs() + this.wallOffsetMs,
      at: (atMs, run) => clock.at(atMs, run),
    }
    const limits = { perSender: 100, perReceiver: 100, total: 2000 }
    const options = defaultNodeOptions({ call })
    this.options = { ...options, mailbox: { ...options.mailbox, ...limits } }
    this.openFile()
    this.begin()
  }

  /** Everything anew on the database as it is: after a cut of the power, or of the copy. */
  begin(): void {
    this.cut = undefined
    this.trust = clockTrust(this.clock)
    const { given } = this
    const store = this.cuttable()
    const add = (messages: readonly MessageRecord[]): void => {
      for (const { id, kind, to, text } of messages) {
        if (kind === 'report') given.onReport(to, text)
        this.store.durably('told', () => this.store.messages.end(id, 'acknowledged', 0))
      }
    }
    const outbox = { add, hasOpen: () => false } as unknown as Outbox
    const note = given.note ?? (() => {})
    const wording = () => standardWordings.of(this.options.language)
    const common = { clock: this.clock, clockTrust: this.trust, store, note, wording }
    const newNumber = (): string => String(store.count('number') % 1000)
    this.mail = mail({
      ...{ ...common, options: this.options, outbox: () => outbox, newNumber },
      isFromElsewhere: (id) => entryOfQuestion(id) !== undefined,
    })
    const parts: HillParts = {
      ...{ ...common, nodeOptions: this.options, newNumber, radioFor: () => 0, outbox },
      ...{ tellSoon: () => {}, tellNews: () => {}, lifeMark: this.lifeMark() },
      options: {
        ...{ own: given.call, radio: 0, senders: [], news: [], announceMs: 1, everyMs: 1 },
        ...{ quietMs: 1, dutyShare: given.dutyShare ?? 0.05 },
        isLicensed: (name) => callSignProblem(name) === undefined,
        neighbours: given.neighbours.map(neighbourOf),
      },
    }
    // What was to be told when the power failed is told now.
    add(store.messages.open())
    this.ledger = ledger(parts, () => `${given.call} ${++this.ids} ${given.random()}`)
    // A node hears its neighbours before it calls one.
    for (const call of given.neighbours) this.ledger.routes.learn([call], this.clock.monotonicMs())
  }

  hear(call: string): void {
    this.store.stations.add({ call, atWallMs: this.clock.wallMs(), radio: 0, via: [] })
  }

  leave(id: string, from: string, to: string, text: string): boolean {
    const question = { id, from, text, words: [], rest: text }
    return this.mail.leave(question, to, text).ok
  }

  /**
   * A station reads what waits for it over a connection here. Where the power fails before that is noted, it gets the same again,
   * here alone, with word that it may have been read before.
   */
  collect(call: string, onGot: (text: string) => void): void {
    const waiting = this.mail.waitingFor(call)
    const ids = waiting.map(({ id }) => Number(id.slice(1)))
    if (ids.length === 0 || !this.mail.showing(ids)) return
    for (const { text, shown } of waiting)
      if (!this.shown.delete(text) || shown !== true) onGot(text)
    const isNoted = this.cut?.committed !== false
    try {
      this.mail.handedOver(ids, call, 0)
    } catch (error) {
      if (!isNoted) for (const { text } of waiting) this.shown.add(text)
      throw error
    }
  }

  look(): void {
    // As the node does each minute (src/node/expiry.ts): what came before the clock was trusted gets its time first.
    if (this.trust.trusted()) {
      const { mailbox } = this.store
      const expiresWallMs = this.clock.wallMs() + this.options.mailbox.keepMs
      if (mailbox.untrustedCount > 0)
        this.store.durably('when mail expires', () => mailbox.trustExpiry(expiresWallMs, 500))
      this.mail.expire()
    }
    this.ledger.look()
  }

  hasFor(peer: string): boolean {
    return bookFor(this.ledger, neighbourOf(peer), new Map()).offers(6000).length > 0
  }

  exchangeWith(peer: string): Exchange {
    const neighbour = neighbourOf(peer)
    return exchange({
      ...{ own: this.name, peer, secret: neighbour.secret },
      nonce: characters(16, this.name, ++this.ids, this.given.random()),
      book: bookFor(this.ledger, neighbour, new Map()),
      roomOctets: () => Math.max(0, Math.min(6000, Math.floor((this.share.leftMs * 0.75) / 12))),
    })
  }

  /** A copy of its database, as a back-up makes it. */
  backUp(to: string): void {
    this.store.close()
    // Where the closed file is still open behind the driver, the newest lies in its log.
    rmSync(`${to}-wal`, { force: true })
    for (const suffix of ['', '-wal'])
      if (existsSync(this.file + suffix)) copyFileSync(this.file + suffix, to + suffix)
    this.openFile()
    this.begin()
  }

  restore(from: string): void {
    this.store.close()
    for (const suffix of ['', '-wal', '-shm', '-heard'])
      if (existsSync(this.file + suffix)) rmSync(this.file + suffix)
    for (const suffix of ['', '-wal'])
      if (existsSync(from + suffix)) copyFileSync(from + suffix, this.file + suffix)
    this.openFile()
    this.begin()
  }

  close(): void {
    this.store.close()
  }

  private openFile(): void {
    const options = defaultStoreOptions(this.given.clock)
    const where = { clock: this.clock, file: this.file, openFile: openUnsynced }
    this.store = openStore({ ...options, ...where, whenUnusable: 'fail' })
  }

  private lifeMark(): LifeMark | undefined {
    if (this.given.withMark === false) return undefined
    return {
      read: () => this.mark,
      write: (mark) => {
        this.mark = mark
      },
    }
  }

  private cuttable(): Store {
    const { store } = this
    const durably: Store['durably'] = (doing, work) => {
      const { cut } = this
      if (cut === undefined || cut.after-- > 0) return store.durably(doing, work)
      this.cut = undefined
      if (cut.committed) store.durably(doing, work)
      const fault = new PowerCut(this, doing, cut.committed)
      this.given.onCut?.(fault)
      throw fault
    }
    return Object.assign(Object.create(store) as Store, { durably })
  }
}

/** A cut of the power is simulated above the disk: what was committed is there, and needs no sync. */
const openUnsynced: OpenSqlite = (file, options) => {
  const sqlite = openSqlite(file, options)
  return {
    ...sqlite,
    exec: (sql) => sqlite.exec(sql.replace('= FULL', '= OFF').replace('= NORMAL', '= OFF')),
  }
}

const kinds = ['message', 'notice', 'stations'] as const
const neighbourOf = (call: string): NeighbourOptions => ({
  ...{ call, secret: 'a secret of this valley', takes: kinds, gives: kinds },
})

export type SessionEnd = 'complete' | 'link cut' | 'power cut' | 'stopped'

const octetMs = (8 * 1000) / 1200

/**
 * A session of two nodes: lines of one arrive at the other in order, until the link breaks, or one's power fails.
 * @param linesMax lines after which the link breaks
 */
export function runSession(
  clock: VirtualClock,
  one: SimHill,
  other: SimHill,
  linesMax = Number.POSITIVE_INFINITY,
): SessionEnd {
  const ends = [
    { hill: one, running: one.exchangeWith(other.name), in: [] as string[], over: '' },
    { hill: other, running: other.exchangeWith(one.name), in: [] as string[], over: '' },
  ]
  let lines = 0
  const step = (at: number, line: string | undefined): void => {
    const end = ends[at]!
    const { lines: out, over } = line === undefined ? end.running.begin() : end.running.take(line)
    for (const text of out) {
      const airtimeMs = (text.length + 1) * octetMs * 1.2
      end.hill.share.note(airtimeMs)
      clock.advanceTo(clock.monotonicMs() + airtimeMs)
      end.hill.worstUsedMs = Math.max(end.hill.worstUsedMs, end.hill.share.usedMs)
    }
    ends[1 - at]!.in.push(...out)
    if (over !== undefined) end.over = over
  }
  for (const at of [0, 1])
    try {
      step(at, undefined)
    } catch (error) {
      return powerCut(error)
    }
  for (;;) {
    const at = ends.findIndex(({ in: waiting, over }) => waiting.length > 0 && over === '')
    if (at < 0) return ends.every(({ over }) => over === 'complete') ? 'complete' : 'stopped'
    if (++lines > linesMax) return 'link cut'
    if (ends.some(({ hill }) => hill.share.leftMs === 0)) return 'link cut'
    try {
      step(at, ends[at]!.in.shift())
    } catch (error) {
      return powerCut(error)
    }
  }
}

function powerCut(error: unknown): SessionEnd {
  if (!(error instanceof PowerCut)) throw error
  error.hill.begin()
  return 'power cut'
}
