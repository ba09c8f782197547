import type { Database } from './database.js'
import {
  callText,
  freeText,
  oneOf,
  orNull,
  type RowForm,
  type RowReader,
  type Table,
  textOf,
  wallTime,
  whole,
} from './rows.js'
import type { Writer } from './writer.js'

/**
 * 'answer' to a question; 'error' that it was not understood, or that its service failed; 'refusal' that it was acknowledged and
 * gets no answer; 'emergency' to a call for help; 'mailbox' what one station left for another; 'report' what became of that, to its sender; 'prompt' that
 * something waits; 'reply' to one of the reference's queries.
 */
const messageKinds = [
  'answer',
  'error',
  'refusal',
  'emergency',
  'mailbox',
  'report',
  'prompt',
  'reply',
] as const
export type MessageKind = (typeof messageKinds)[number]

/** 'parked' waits until its station is heard; 'waiting' is being sent; the others are ends ('sent': without a number). */
const messageStates = [
  'waiting',
  'parked',
  'sent',
  'acknowledged',
  'rejected',
  'given up',
  'expired',
] as const
export type MessageState = (typeof messageStates)[number]

/** A message of the node's own, in the order of its id for each station. */
export interface MessageRecord {
  readonly id: number
  readonly kind: MessageKind
  readonly to: string
  /** undefined: wants no acknowledgement and is sent once */
  readonly number: string | undefined
  /** the asker's number, for a station that understands reply-acknowledgements */
  readonly replyTo: string | undefined
  readonly text: string
  readonly questionId: number | undefined
  readonly mailboxId: number | undefined
  readonly radio: number
  readonly state: MessageState
  /** transmissions so far */
  readonly attempts: number
  readonly createdWallMs: number
  readonly notAfterWallMs: number
  readonly endedWallMs: number | undefined
  readonly reason: string | undefined
}

export type NewMessage = Omit<MessageRecord, 'id' | 'attempts' | 'endedWallMs' | 'reason'>

export interface MessageFilter {
  readonly sinceWallMs?: number | undefined
  /** the newest so many; default 1000 */
  readonly limit?: number | undefined
}

/** Call the writing ones inside `store.durably`. */
export interface MessageTable {
  insert(message: NewMessage): MessageRecord
  end(
    id: number,
    state: Exclude<MessageState, 'waiting' | 'parked'>,
    wallMs: number,
    reason?: string,
  ): void
  setState(id: number, state: 'waiting' | 'parked'): void
  /** 'waiting' again, with a new time after which it is of no use */
  revive(id: number, notAfterWallMs: number): MessageRecord
  /** gathered: a count that is one short after a crash does no harm */
  noteAttempt(id: number): void
  find(id: number): MessageRecord | undefined
  /** by the number that its receiver acknowledges, newest first; also those that have ended */
  findByNumber(to: string, number: string): MessageRecord | undefined
  /** 'waiting' and 'parked', in the order in which they go out */
  open(): MessageRecord[]
  ofQuestion(questionId: number): MessageRecord[]
  /** since the database was begun */
  countAcknowledged(): number
  /** oldest first */
  query(filter?: MessageFilter): MessageRecord[]
}

interface MessageRow {
  id: number
  kind: MessageKind
  to_call: string
  number: string | null
  reply_to: string | null
  text: string
  question_id: number | null
  mailbox_id: number | null
  radio: number
  state: MessageState
  attempts: number
  created_ms: number
  not_after_ms: number
  ended_ms: number | null
  reason: string | null
}

export function messageTable(database: Database, writer: Writer, rows: RowReader): MessageTable {
  // Transmissions that are gathered, so that reading needs no write.
  const waiting = new Map<number, number>()
  const table: Table<MessageRow, MessageRecord> = {
    name: 'messages',
    read: (row) => messageOf(row, waiting.get(row.id) ?? 0),
    form: messageForm,
  }

  return {
    insert(message) {
      const { lastId } = database.run(
        `INSERT INTO messages (kind, to_call, number, reply_to, text, question_id, mailbox_id, radio, state,
           created_ms, not_after_ms) VALUES (?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?)`,
        message.kind,
        message.to,
        message.number ?? null,
        message.replyTo ?? null,
        message.text,
        message.questionId ?? null,
        message.mailboxId ?? null,
        message.radio,
        message.state,
        message.createdWallMs,
        message.notAfterWallMs,
      )
      return { ...message, id: lastId, attempts: 0, endedWallMs: undefined, reason: undefined }
    },
    end(id, state, wallMs, reason) {
      database.run(
        'UPDATE messages SET state = ?, ended_ms = ?, reason = ? WHERE id = ?',
        state,
        wallMs,
        reason ?? null,
        id,
      )
      if (state === 'acknowledged')
        database.run(
          `INSERT INTO counters (name, value) VALUES ('acknowledged', 1)
           ON CONFLICT (name) DO UPDATE SET value = value + 1`,
        )
    },
    setState(id, state) {
      database.run('UPDATE messages SET state = ? WHERE id = ?', state, id)
    },
    revive(id, notAfterWallMs) {
      database.run(
        "UPDATE messages SET state = 'waiting', not_after_ms = ?, ended_ms = NULL, reason = NULL WHERE id = ?",
        notAfterWallMs,
        id,
      )
      const revived = rows.first(table, 'id = ?', id)
      if (revived === undefined) throw new RangeError(`message ${id} cannot be read`)
      return revived
    },
    noteAttempt(id) {
      waiting.set(id, (waiting.get(id) ?? 0) + 1)
      writer.later('attempt', [id], () => {
        const left = (waiting.get(id) ?? 1) - 1
        if (left > 0) waiting.set(id, left)
        else waiting.delete(id)
      })
    },
    find: (id) => rows.first(table, 'id = ?', id),
    findByNumber: (to, number) =>
      rows.first(table, 'to_call = ? AND number = ? ORDER BY id DESC LIMIT 1', to, number),
    open: () => rows.list(table, "state IN ('waiting', 'parked') ORDER BY id"),
    ofQuestion: (questionId) => rows.list(table, 'question_id = ? ORDER BY id', questionId),
    countAcknowledged: () =>
      database.get<{ count: number }>(
        "SELECT value AS count FROM counters WHERE name = 'acknowledged'",
      )?.count ?? 0,
    query(filter = {}) {
      writer.settle()
      return writer.reading('reading messages', [], () => queryMessages(rows, table, filter))
    },
  }
}

function queryMessages(
  rows: RowReader,
  table: Table<MessageRow, MessageRecord>,
  filter: MessageFilter,
): MessageRecord[] {
  const newest = 'created_ms >= ? ORDER BY created_ms DESC, id DESC LIMIT ?'
  return rows.list(table, newest, filter.sinceWallMs ?? 0, filter.limit ?? 1000).reverse()
}

function messageOf(row: MessageRow, moreAttempts: number): MessageRecord {
  return {
    id: row.id,
    kind: row.kind,
    to: row.to_call,
    number: row.number ?? undefined,
    replyTo: row.reply_to ?? undefined,
    text: row.text,
    questionId: row.question_id ?? undefined,
    mailboxId: row.mailbox_id ?? undefined,
    radio: row.radio,
    state: row.state,
    attempts: row.attempts + moreAttempts,
    createdWallMs: row.created_ms,
    notAfterWallMs: row.not_after_ms,
    endedWallMs: row.ended_ms ?? undefined,
    reason: row.reason ?? undefined,
  }
}

const messageForm: RowForm<MessageRow> = {
  id: whole,
  kind: oneOf(messageKinds),
  to_call: callText,
  number: orNull(textOf(20)),
  reply_to: orNull(textOf(20)),
  text: freeText,
  question_id: orNull(whole),
  mailbox_id: orNull(whole),
  radio: whole,
  state: oneOf(messageStates),
  attempts: whole,
  created_ms: wallTime,
  not_after_ms: wallTime,
  ended_ms: orNull(wallTime),
  reason: orNull(freeText),
}
