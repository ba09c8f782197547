import type { Notice } from '../services/service.js'
import type { Database } from './database.js'
import { callText, freeText, type RowReader, type Table, wallTime, whole } from './rows.js'

export interface NoticeRecord extends Notice {
  readonly id: number
  readonly expiresWallMs: number
}

/** Call the writing ones inside `store.durably`. */
export interface NoticeTable {
  /** a question posts one notice, however often it is handled */
  insert(notice: Omit<NoticeRecord, 'id'> & { readonly questionId: string }): void
  hasQuestion(questionId: string): boolean
  /** not expired; newest first */
  current(wallMs: number, count: number): NoticeRecord[]
  countFrom(call: string, wallMs: number): number
  deleteExpired(wallMs: number): number
}

interface NoticeRow {
  id: number
  from_call: string
  text: string
  posted_ms: number
  expires_ms: number
}

export function noticeTable(database: Database, rows: RowReader): NoticeTable {
  return {
    insert(notice) {
      database.run(
        `INSERT INTO notices (question_id, from_call, text, posted_ms, expires_ms) VALUES (?, ?, ?, ?, ?)
         ON CONFLICT (question_id) DO NOTHING`,
        notice.questionId,
        notice.from,
        notice.text,
        notice.postedWallMs,
        notice.expiresWallMs,
      )
    },
    hasQuestion: (questionId) =>
      database.get('SELECT 1 FROM notices WHERE question_id = ?', questionId) !== undefined,
    current: (wallMs, count) =>
      rows.list(table, 'expires_ms > ? ORDER BY id DESC LIMIT ?', wallMs, count),
    countFrom: (call, wallMs) =>
      database.get<{ count: number }>(
        'SELECT count(*) AS count FROM notices WHERE from_call = ? AND expires_ms > ?',
        call,
        wallMs,
      )?.count ?? 0,
    deleteExpired: (wallMs) =>
      database.run('DELETE FROM notices WHERE expires_ms <= ?', wallMs).changes,
  }
}

const table: Table<NoticeRow, NoticeRecord> = {
  name: 'notices',
  read: (row) => ({
    id: row.id,
    from: row.from_call,
    text: row.text,
    postedWallMs: row.posted_ms,
    expiresWallMs: row.expires_ms,
  }),
  form: {
    id: whole,
    from_call: callText,
    text: freeText,
    posted_ms: wallTime,
    expires_ms: wallTime,
  },
}
