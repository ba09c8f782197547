import type { Database } from './database.js'
import { expiringRows, notExpired } from './expiringRows.js'
import {
  callText,
  flag,
  freeText,
  orNull,
  type RowReader,
  type Table,
  wallTime,
  whole,
} from './rows.js'

/** A letter of one station for another, left and read in connected mode. */
export interface Letter {
  readonly id: number
  readonly from: string
  /** with SSID: for that station alone; without: for any SSID of the call */
  readonly to: string
  readonly subject: string
  /** lines end with a line feed */
  readonly text: string
  readonly leftWallMs: number
  /** of no meaning while it is not trusted */
  readonly expiresWallMs: number
  readonly expiryTrusted: boolean
  /** when all of it had been acknowledged by who read it first */
  readonly readWallMs: number | undefined
  readonly readBy: string | undefined
  /** written into a connection, whose reader may have seen it: no other node is to show it again */
  readonly shown: boolean
}

export type NewLetter = Omit<Letter, 'id' | 'readWallMs' | 'readBy' | 'shown'>

/** Call the writing ones inside `store.durably`. */
export interface LetterTable {
  /** @returns its id */
  insert(letter: NewLetter): number
  /** unread, whoever they are for, oldest first */
  unread(): Letter[]
  /** oldest first; what is past its time is left out. @param wallMs undefined while the clock is not trusted */
  waitingFor(call: string, wallMs: number | undefined): Letter[]
  find(id: number): Letter | undefined
  setShown(id: number): void
  setRead(id: number, by: string, wallMs: number): void
  remove(id: number): void
  countFrom(call: string): number
  countFor(call: string): number
  readonly count: number
  readonly untrustedCount: number
  /** Gives at most so many with a time that is not trusted their time, now that the clock is. @returns how many */
  trustExpiry(expiresWallMs: number, countMax: number): number
}

export function letterTable(database: Database, rows: RowReader): LetterTable {
  const expiring = expiringRows(database, 'letters')
  const count = (condition: string, ...values: string[]): number =>
    database.get<{ count: number }>(
      `SELECT count(*) AS count FROM letters WHERE ${condition}`,
      ...values,
    )?.count ?? 0

  return {
    insert(letter) {
      database.run(
        `INSERT INTO letters (from_call, to_call, subject, text, left_ms, expires_ms, expiry_trusted)
         VALUES (?, ?, ?, ?, ?, ?, ?)`,
        letter.from,
        letter.to,
        letter.subject,
        letter.text,
        letter.leftWallMs,
        letter.expiresWallMs,
        letter.expiryTrusted ? 1 : 0,
      )
      return database.get<{ id: number }>('SELECT last_insert_rowid() AS id')!.id
    },
    unread: () => rows.list(table, 'read_ms IS NULL ORDER BY id'),
    waitingFor: (call, wallMs) =>
      rows.list(
        table,
        `to_call IN (?, ?) AND ${notExpired} ORDER BY id`,
        call,
        call.split('-')[0]!,
        wallMs ?? 0,
      ),
    find: (id) => rows.first(table, 'id = ?', id),
    setShown(id) {
      database.run('UPDATE letters SET shown = 1 WHERE id = ?', id)
    },
    setRead(id, by, wallMs) {
      database.run(
        'UPDATE letters SET read_ms = ?, read_by = ? WHERE id = ? AND read_ms IS NULL',
        wallMs,
        by,
        id,
      )
    },
    remove(id) {
      database.run('DELETE FROM letters WHERE id = ?', id)
    },
    countFrom: (call) => count('from_call = ?', call),
    countFor: (call) => count('to_call = ?', call),
    get count() {
      return count('1')
    },
    get untrustedCount() {
      return expiring.untrustedCount()
    },
    trustExpiry: expiring.trustExpiry,
  }
}

const table: Table<Letter> = {
  name: 'letters',
  columns: {
    id: ['id', whole],
    from: ['from_call', callText],
    to: ['to_call', callText],
    subject: ['subject', freeText],
    text: ['text', freeText],
    leftWallMs: ['left_ms', wallTime],
    expiresWallMs: ['expires_ms', wallTime],
    expiryTrusted: ['expiry_trusted', flag],
    readWallMs: ['read_ms', orNull(wallTime)],
    readBy: ['read_by', orNull(callText)],
    shown: ['shown', flag],
  },
}
