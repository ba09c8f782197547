import type { Database } from './database.js'
import { expiringRows } from './expiringRows.js'
import {
  callText,
  flag,
  oneOf,
  orNull,
  type RowReader,
  type Table,
  textOf,
  wallTime,
  whole,
} from './rows.js'

/** 'here' to be delivered or handed on; 'handing' begun, its end not known; 'handed' and on the other's disk; 'ended' in some way. */
const hillStates = ['here', 'handing', 'handed', 'ended'] as const
export type HillState = (typeof hillStates)[number]

/** An entry that goes from node to node. */
export interface HillRow {
  readonly id: number
  /** unique over all nodes */
  readonly entryId: string
  readonly kind: string
  readonly from: string
  readonly to: string
  readonly subject: string
  readonly text: string
  readonly writtenWallMs: number
  /** of no meaning while it is not trusted */
  readonly expiresWallMs: number
  readonly expiryTrusted: boolean
  /** nodes that handed it on, with commas between, the first where it began; '' for what began here */
  readonly trace: string
  readonly cameFrom: string | undefined
  readonly state: HillState
  /** whom it goes to, is under way to, or went to */
  readonly peer: string | undefined
  /** what became of it; undefined while that is not known */
  readonly outcome: string | undefined
  /** what it lies in here: the question of a mailbox entry or a notice, the id of a letter */
  readonly local: string | undefined
}

export type NewHillRow = Omit<HillRow, 'id'>

/** How far this database and a neighbour's have come with each other. */
export interface HillPeer {
  readonly call: string
  /** of its database, as it said last; '' before the first session */
  readonly epoch: string
  readonly count: number
  readonly confirmed: number
}

/** Call the writing ones inside `store.durably`. */
export interface HillTable {
  /** does nothing for an id that is known */
  insert(row: NewHillRow): void
  find(entryId: string): HillRow | undefined
  findByLocal(kind: string, local: string): HillRow | undefined
  /** not ended, oldest first */
  open(): HillRow[]
  openTo(peer: string): HillRow[]
  /** the newest of all, newest first */
  recent(count: number): HillRow[]
  setState(entryId: string, state: HillState, peer: string | undefined): void
  /** Says anew until when it is of use, and what it lies in. */
  setPlace(entryId: string, expiresWallMs: number, local: string | undefined): void
  /** Its text goes, but for the beginning; that it was there stays known. */
  end(entryId: string, outcome: string): void
  noteHas(entryId: string, peer: string): void
  has(entryId: string, peer: string): boolean
  forgetHas(peer: string): void
  peer(call: string): HillPeer | undefined
  forgetPeers(): void
  setPeer(peer: HillPeer): void
  readonly untrustedCount: number
  trustExpiry(expiresWallMs: number, countMax: number): number
  capExpiry(expiresWallMs: number): void
  /** not ended and past its time, where that is trusted; at most so many */
  expired(wallMs: number, countMax: number): HillRow[]
  /** Forgets ended ones but for the newest so many. */
  prune(keptCount: number): void
}

const textKept = 60

export function hillTable(database: Database, rows: RowReader): HillTable {
  const expiring = expiringRows(database, 'hill_entries')
  const list = (condition: string, ...values: (string | number)[]): HillRow[] =>
    rows.list(table, condition, ...values)

  return {
    insert(row) {
      database.run(
        `INSERT INTO hill_entries (entry_id, kind, from_call, to_call, subject, text, written_ms, expires_ms, expiry_trusted,
           trace, came_from, state, peer, outcome, local)
         VALUES (?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?) ON CONFLICT (entry_id) DO NOTHING`,
        ...[row.entryId, row.kind, row.from, row.to, row.subject, row.text, row.writtenWallMs],
        ...[row.expiresWallMs, row.expiryTrusted ? 1 : 0, row.trace, row.cameFrom ?? null],
        ...[row.state, row.peer ?? null, row.outcome ?? null, row.local ?? null],
      )
    },
    find: (entryId) => list('entry_id = ?', entryId)[0],
    findByLocal: (kind, local) => list('local = ? AND kind = ?', local, kind)[0],
    open: () => list("state <> 'ended' ORDER BY id"),
    openTo: (peer) => list("state <> 'ended' AND peer = ? ORDER BY id", peer),
    recent: (count) => list('1 ORDER BY id DESC LIMIT ?', count),
    setState(entryId, state, peer) {
      database.run(
        'UPDATE hill_entries SET state = ?, peer = ? WHERE entry_id = ?',
        ...[state, peer ?? null, entryId],
      )
    },
    setPlace(entryId, expiresWallMs, local) {
      database.run(
        'UPDATE hill_entries SET expires_ms = ?, local = ? WHERE entry_id = ?',
        ...[expiresWallMs, local ?? null, entryId],
      )
    },
    end(entryId, outcome) {
      database.run(
        `UPDATE hill_entries SET state = 'ended', outcome = ?, text = substr(text, 1, ${textKept}), expiry_trusted = 1
         WHERE entry_id = ?`,
        outcome,
        entryId,
      )
      database.run('DELETE FROM hill_has WHERE entry_id = ?', entryId)
    },
    noteHas(entryId, peer) {
      database.run('INSERT OR IGNORE INTO hill_has (entry_id, peer) VALUES (?, ?)', entryId, peer)
    },
    has: (entryId, peer) =>
      database.get('SELECT 1 FROM hill_has WHERE entry_id = ? AND peer = ?', entryId, peer) !==
      undefined,
    forgetHas(peer) {
      database.run('DELETE FROM hill_has WHERE peer = ?', peer)
    },
    forgetPeers() {
      database.run('DELETE FROM hill_has')
      database.run('DELETE FROM hill_peers')
    },
    peer: (call) => rows.first(peerTable, 'call = ?', call),
    setPeer({ call, epoch, count, confirmed }) {
      database.run(
        `INSERT INTO hill_peers (call, epoch, count, confirmed) VALUES (?, ?, ?, ?)
         ON CONFLICT (call) DO UPDATE SET epoch = excluded.epoch, count = excluded.count, confirmed = excluded.confirmed`,
        ...[call, epoch, count, confirmed],
      )
    },
    get untrustedCount() {
      return expiring.untrustedCount()
    },
    trustExpiry: expiring.trustExpiry,
    capExpiry: expiring.capExpiry,
    expired: (wallMs, countMax) =>
      list(
        "state <> 'ended' AND expires_ms <= ? AND expiry_trusted = 1 ORDER BY id LIMIT ?",
        wallMs,
        countMax,
      ),
    prune(keptCount) {
      database.run(
        `DELETE FROM hill_entries WHERE state = 'ended' AND id <=
           (SELECT id FROM hill_entries WHERE state = 'ended' ORDER BY id DESC LIMIT 1 OFFSET ?)`,
        keptCount,
      )
    },
  }
}

/** A letter of 50,000 octets, the longest that a configuration allows. */
const longText = textOf(50_000)
const nameText = textOf(60)

const table: Table<HillRow> = {
  name: 'hill_entries',
  columns: {
    id: ['id', whole],
    entryId: ['entry_id', textOf(40)],
    kind: ['kind', textOf(20)],
    from: ['from_call', nameText],
    to: ['to_call', nameText],
    subject: ['subject', textOf(400)],
    text: ['text', longText],
    writtenWallMs: ['written_ms', wallTime],
    expiresWallMs: ['expires_ms', wallTime],
    expiryTrusted: ['expiry_trusted', flag],
    trace: ['trace', textOf(40)],
    cameFrom: ['came_from', orNull(callText)],
    state: ['state', oneOf(hillStates)],
    peer: ['peer', orNull(callText)],
    outcome: ['outcome', orNull(nameText)],
    local: ['local', orNull(textOf(100))],
  },
}

const peerTable: Table<HillPeer> = {
  name: 'hill_peers',
  columns: {
    call: ['call', callText],
    epoch: ['epoch', textOf(8)],
    count: ['count', whole],
    confirmed: ['confirmed', whole],
  },
}
