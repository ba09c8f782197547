import type { Database } from './database.js'
import {
  callText,
  freeText,
  oneOf,
  orNull,
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

export function messageTable(database: Database, writer: Writer, rows: RowReader): MessageTable {
  // Transmissions that are gathered, so that reading needs no write.
  const waiting = new Map<number, number>()
  const list = (condition: string, ...values: (string | number)[]): MessageRecord[] =>
    rows.list(table, condition, ...values).map((message) => {
      const more = waiting.get(message.id)
      return more === undefined ? message : { ...message, attempts: message.attempts + more }
    })
  const find = (id: number): MessageRecord | undefined => list('id = ?', id)[0]

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
      const revived = find(id)
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
    find,
    findByNumber: (to, number) =>
      list('to_call = ? AND number = ? ORDER BY id DESC LIMIT 1', to, number)[0],
    open: () => list("state IN ('waiting', 'parked') ORDER BY id"),
    ofQuestion: (questionId) => list('question_id = ? ORDER BY id', questionId),
    countAcknowledged: () =>
      database.get<{ count: number }>(
        "SELECT value AS count FROM counters WHERE name = 'acknowledged'",
      )?.count ?? 0,
    query(filter = {}) {
      writer.settle()
      const { sinceWallMs = 0, limit = 1000 } = filter
      const newest = 'created_ms >= ? ORDER BY created_ms DESC, id DESC LIMIT ?'
      return writer.reading('reading messages', [], () =>
        list(newest, sinceWallMs, limit).reverse(),
      )
    },
  }
}

const table: Table<MessageRecord> = {
  name: 'messages',
  columns: {
    id: ['id', whole],
    kind: ['kind', oneOf(messageKinds)],
    to: ['to_call', callText],
    number: ['number', orNull(textOf(20))],
    replyTo: ['reply_to', orNull(textOf(20))],
    text: ['text', freeText],
    questionId: ['question_id', orNull(whole)],
    mailboxId: ['mailbox_id', orNull(whole)],
    radio: ['radio', whole],
    state: ['state', oneOf(messageStates)],
    attempts: ['attempts', whole],
    createdWallMs: ['created_ms', wallTime],
    notAfterWallMs: ['not_after_ms', wallTime],
    endedWallMs: ['ended_ms', orNull(wallTime)],
    reason: ['reason', orNull(freeText)],
  },
}
