import type { Database } from './database.js'
import { expiringRows } from './expiringRows.js'
import {
  callText,
  flag,
  freeText,
  oneOf,
  orNull,
  type RowReader,
  type Table,
  textOf,
  wallTime,
  whole,
} from './rows.js'

/**
 * 'waiting' for a link, or for the server to take it; the others are ends. 'sent': the server has it; 'unsure': the link broke
 * so often after all of it was handed over that nobody knows; 'returned': the server had taken it, and it came back; 'withdrawn':
 * by its sender, before anything of it was handed over.
 */
const emailStates = [
  ...(['waiting', 'sent', 'refused', 'expired', 'unsure', 'returned', 'withdrawn'] as const),
] as const
export type EmailState = (typeof emailStates)[number]

/** 'letter': of a station; of the node: 'report' on what became of a mail that it had taken, 'alert' of the operator's rules */
const emailKinds = ['letter', 'report', 'alert'] as const

/** A mail that this node sends. */
export interface Email {
  readonly id: number
  /** of the question that wrote it, or of what it reports on: such a one writes one mail, however often it is handled */
  readonly questionId: string
  readonly kind: (typeof emailKinds)[number]
  readonly from: string
  readonly toAddress: string
  /** as its sender named the receiver */
  readonly toName: string
  readonly text: string
  /** with its angle brackets; made once, so that whoever gets it twice can tell */
  readonly messageId: string
  readonly inReplyTo: string | undefined
  /** in which its sender is told what became of it */
  readonly language: string
  readonly leftWallMs: number
  /** of no meaning while it is not trusted */
  readonly expiresWallMs: number
  readonly expiryTrusted: boolean
  readonly state: EmailState
  /** begun so often */
  readonly attempts: number
  /** an attempt was begun, and its end is not noted */
  readonly underWay: boolean
  /** attempts that broke off when the server may have had all of it */
  readonly unsureCount: number
  readonly endedWallMs: number | undefined
  readonly reason: string | undefined
}

export type NewEmail = Pick<
  Email,
  | 'questionId'
  | 'kind'
  | 'from'
  | 'toAddress'
  | 'toName'
  | 'text'
  | 'messageId'
  | 'inReplyTo'
  | 'language'
  | 'leftWallMs'
  | 'expiresWallMs'
  | 'expiryTrusted'
>

/** A short name that somebody gave an address, by radio. */
export interface EmailName {
  readonly name: string
  readonly address: string
}

/** Call the writing ones inside `store.durably`. */
export interface EmailTable {
  /** @returns the mail of that question, which may be there already */
  insert(email: NewEmail): Email
  find(id: number): Email | undefined
  findByQuestion(questionId: string): Email | undefined
  findByMessageId(messageId: string): Email | undefined
  /** waiting, with the same sender, receiver and text */
  findSame(from: string, toAddress: string, text: string): Email | undefined
  /** oldest first, beginning behind one */
  waiting(afterId: number, countMax: number): Email[]
  readonly waitingCount: number
  /** written by any SSID of a call, or by whomever where none is given, within so long of now, whichever way the clock was set */
  countWithin(spanMs: number, wallMs: number, call?: string): number
  /** the newest that a station wrote, newest first */
  writtenBy(from: string, countMax: number): Email[]
  /** this station, whichever its SSID, has written to somebody */
  hasWritten(call: string): boolean
  noteAttempt(id: number): void
  /** the attempt is over, and it waits again */
  noteWaiting(id: number, unsure: boolean): void
  end(id: number, state: Exclude<EmailState, 'waiting'>, wallMs: number, reason?: string): void
  /** those past their time, where that is trusted; the oldest first */
  expired(wallMs: number, countMax: number): Email[]
  readonly untrustedCount: number
  trustExpiry(expiresWallMs: number, countMax: number): number
  /** @returns false where it was noted before */
  noteTaken(messageKey: string, wallMs: number): boolean
  /** of a call without SSID, by name */
  namesOf(call: string): EmailName[]
  /** @param address undefined takes the name away */
  setName(call: string, name: string, address: string | undefined): void
  nameCount(): number
}

export function emailTable(database: Database, rows: RowReader): EmailTable {
  const expiring = expiringRows(database, 'emails')
  const count = (what: string, ...values: (string | number)[]): number =>
    database.get<{ count: number }>(`SELECT count(*) AS count FROM ${what}`, ...values)?.count ?? 0
  const first = (condition: string, ...values: (string | number)[]): Email | undefined =>
    rows.first(table, condition, ...values)
  const findByQuestion = (questionId: string): Email | undefined =>
    first('question_id = ?', questionId)

  return {
    insert(email) {
      database.run(
        `INSERT INTO emails (question_id, kind, from_call, to_address, to_name, text, message_id, in_reply_to, language,
           left_ms, expires_ms, expiry_trusted, state)
         VALUES (?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, 'waiting') ON CONFLICT (question_id) DO NOTHING`,
        ...[email.questionId, email.kind, email.from, email.toAddress, email.toName, email.text],
        ...[email.messageId, email.inReplyTo ?? null, email.language],
        ...[email.leftWallMs, email.expiresWallMs, email.expiryTrusted ? 1 : 0],
      )
      return findByQuestion(email.questionId)!
    },
    find: (id) => first('id = ?', id),
    findByQuestion,
    findByMessageId: (messageId) => first('message_id = ?', messageId),
    findSame: (from, toAddress, text) =>
      first(
        "state = 'waiting' AND from_call = ? AND to_address = ? AND text = ?",
        from,
        toAddress,
        text,
      ),
    waiting: (afterId, countMax) =>
      rows.list(table, "state = 'waiting' AND id > ? ORDER BY id LIMIT ?", afterId, countMax),
    get waitingCount() {
      return count("emails WHERE state = 'waiting'")
    },
    countWithin: (spanMs, wallMs, call) =>
      call === undefined
        ? count('emails WHERE left_ms BETWEEN ? AND ?', wallMs - spanMs, wallMs + spanMs)
        : count(
            `emails WHERE left_ms BETWEEN ? AND ? AND kind = 'letter' AND ${ofCall}`,
            wallMs - spanMs,
            wallMs + spanMs,
            ...ssidsOf(call),
          ),
    writtenBy: (from, countMax) =>
      rows.list(
        table,
        "kind = 'letter' AND from_call = ? ORDER BY id DESC LIMIT ?",
        from,
        countMax,
      ),
    hasWritten: (call) =>
      first(`kind = 'letter' AND ${ofCall} LIMIT 1`, ...ssidsOf(call)) !== undefined,
    noteAttempt(id) {
      database.run('UPDATE emails SET attempts = attempts + 1, under_way = 1 WHERE id = ?', id)
    },
    noteWaiting(id, unsure) {
      database.run(
        'UPDATE emails SET under_way = 0, unsure_count = unsure_count + ? WHERE id = ?',
        unsure ? 1 : 0,
        id,
      )
    },
    end(id, state, wallMs, reason) {
      database.run(
        'UPDATE emails SET state = ?, under_way = 0, ended_ms = ?, reason = ? WHERE id = ?',
        ...[state, wallMs, reason ?? null, id],
      )
    },
    expired: (wallMs, countMax) =>
      rows.list(
        table,
        "state = 'waiting' AND expires_ms <= ? AND +expiry_trusted = 1 ORDER BY expires_ms LIMIT ?",
        wallMs,
        countMax,
      ),
    get untrustedCount() {
      return expiring.untrustedCount()
    },
    trustExpiry: expiring.trustExpiry,
    noteTaken: (messageKey, wallMs) =>
      database.run(
        'INSERT INTO emails_taken (message_key, at_ms) VALUES (?, ?) ON CONFLICT (message_key) DO NOTHING',
        messageKey,
        wallMs,
      ).changes > 0,
    ...namesIn(database, rows),
  }
}

type NameTable = Pick<EmailTable, 'namesOf' | 'setName' | 'nameCount'>

const namesIn = (database: Database, rows: RowReader): NameTable => ({
  namesOf: (call) =>
    rows
      .list(nameTable, 'call = ? ORDER BY name', call)
      .map(({ name, address }) => ({ name, address })),
  setName(call, name, address) {
    if (address === undefined)
      database.run('DELETE FROM email_names WHERE call = ? AND name = ?', call, name)
    else
      database.run(
        `INSERT INTO email_names (call, name, address) VALUES (?, ?, ?)
         ON CONFLICT (call, name) DO UPDATE SET address = excluded.address`,
        ...[call, name, address],
      )
  },
  nameCount: () =>
    database.get<{ count: number }>('SELECT count(*) AS count FROM email_names')?.count ?? 0,
})

/** Every SSID of a call; the dot follows the hyphen in ASCII. */
const ofCall = '(from_call = ? OR (from_call >= ? AND from_call < ?))'
const ssidsOf = (call: string): string[] => [call, `${call}-`, `${call}.`]

const addressText = textOf(254)
const idText = textOf(1_000)

const table: Table<Email> = {
  name: 'emails',
  columns: {
    id: ['id', whole],
    questionId: ['question_id', textOf(200)],
    kind: ['kind', oneOf(emailKinds)],
    from: ['from_call', callText],
    toAddress: ['to_address', addressText],
    toName: ['to_name', addressText],
    text: ['text', freeText],
    messageId: ['message_id', idText],
    inReplyTo: ['in_reply_to', orNull(idText)],
    language: ['language', textOf(10)],
    leftWallMs: ['left_ms', wallTime],
    expiresWallMs: ['expires_ms', wallTime],
    expiryTrusted: ['expiry_trusted', flag],
    state: ['state', oneOf(emailStates)],
    attempts: ['attempts', whole],
    underWay: ['under_way', flag],
    unsureCount: ['unsure_count', whole],
    endedWallMs: ['ended_ms', orNull(wallTime)],
    reason: ['reason', orNull(freeText)],
  },
}

const nameTable: Table<EmailName & { readonly id: number }> = {
  name: 'email_names',
  columns: {
    id: ['id', whole],
    name: ['name', textOf(20)],
    address: ['address', addressText],
  },
}
