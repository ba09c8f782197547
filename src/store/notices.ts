import type { Notice } from '../services/service.js'
import type { Database } from './database.js'
import { expiringRows, notExpired } from './expiringRows.js'
import {
  callText,
  flag,
  freeText,
  type RowReader,
  type Table,
  textOf,
  wallTime,
  whole,
} from './rows.js'

export interface NoticeRecord extends Notice {
  readonly id: number
  /** of the question that posted it */
  readonly questionId: string
  readonly expiresWallMs: number
  /** false for what was posted while the clock was not trusted: its time counts from when it is, see trustExpiry */
  readonly expiryTrusted: boolean
}

/** Call the writing ones inside `store.durably`. */
export interface NoticeTable {
  /** a question posts one notice, however often it is handled */
  insert(notice: Omit<NoticeRecord, 'id'>): void
  /** Takes down what a question posted. */
  remove(questionId: string): void
  hasQuestion(questionId: string): boolean
  /** not expired; newest first. @param wallMs undefined while the clock is not trusted: nothing has expired then */
  current(wallMs: number | undefined, count: number): NoticeRecord[]
  countFrom(call: string, wallMs: number | undefined): number
  readonly untrustedCount: number
  /** Gives at most so many with a time that is not trusted their time, now that the clock is. @returns how many */
  trustExpiry(expiresWallMs: number, countMax: number): number
}

export function noticeTable(database: Database, rows: RowReader): NoticeTable {
  const expiring = expiringRows(database, 'notices')
  return {
    insert(notice) {
      database.run(
        `INSERT INTO notices (question_id, from_call, text, posted_ms, expires_ms, expiry_trusted)
         VALUES (?, ?, ?, ?, ?, ?) ON CONFLICT (question_id) DO NOTHING`,
        notice.questionId,
        notice.from,
        notice.text,
        notice.postedWallMs,
        notice.expiresWallMs,
        notice.expiryTrusted ? 1 : 0,
      )
    },
    remove(questionId) {
      database.run('DELETE FROM notices WHERE question_id = ?', questionId)
    },
    hasQuestion: (questionId) =>
      database.get('SELECT 1 FROM notices WHERE question_id = ?', questionId) !== undefined,
    current: (wallMs, count) =>
      rows.list(table, `${notExpired} ORDER BY id DESC LIMIT ?`, wallMs ?? 0, count),
    countFrom: (call, wallMs) =>
      database.get<{ count: number }>(
        `SELECT count(*) AS count FROM notices WHERE from_call = ? AND ${notExpired}`,
        call,
        wallMs ?? 0,
      )?.count ?? 0,
    get untrustedCount() {
      return expiring.untrustedCount()
    },
    trustExpiry: expiring.trustExpiry,
  }
}

const table: Table<NoticeRecord> = {
  name: 'notices',
  columns: {
    id: ['id', whole],
    questionId: ['question_id', textOf(100)],
    from: ['from_call', callText],
    text: ['text', freeText],
    postedWallMs: ['posted_ms', wallTime],
    expiresWallMs: ['expires_ms', wallTime],
    expiryTrusted: ['expiry_trusted', flag],
  },
}
