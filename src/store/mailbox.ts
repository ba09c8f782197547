import type { Database } from './database.js'
import { expiringRows } from './expiringRows.js'
import {
  addresseeText,
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

/** 'waiting' for its receiver; 'sending' while a message of the node's carries it; 'passed on' to another node; the others are ends. */
const mailboxStates = [
  'waiting',
  'sending',
  'passed on',
  'delivered',
  'refused',
  'expired',
  'withdrawn',
] as const
export type MailboxState = (typeof mailboxStates)[number]
/** 'withdrawn': by its sender */
export type MailboxEnd = 'delivered' | 'refused' | 'expired' | 'withdrawn'

/** What one station left for another. */
export interface MailboxEntry {
  readonly id: number
  /** of the question that left it: a question leaves one entry, however often it is handled; of one text to several, '>' and the receiver behind it */
  readonly questionId: string
  readonly from: string
  /** with SSID: for that station alone; without: for whichever SSID of the call asks first; or a tactical name */
  readonly to: string
  readonly text: string
  readonly leftWallMs: number
  /** of no meaning while it is not trusted */
  readonly expiresWallMs: number
  /** false for what was left while the clock was not trusted: its time counts from when it is, see trustExpiry */
  readonly expiryTrusted: boolean
  readonly state: MailboxState
  /** number of the message that carries it: the same each time, so that a receiver takes it once */
  readonly number: string | undefined
  /** the station that it went, or goes, to */
  readonly collectedBy: string | undefined
  /** the question that asked for it */
  readonly collectQuestionId: string | undefined
  readonly promptedWallMs: number | undefined
  readonly promptCount: number
  readonly endedWallMs: number | undefined
  readonly reason: string | undefined
  /** what came by mail: how its sender is named on the air, where `from` is the node itself */
  readonly senderName: string | undefined
  /** what came by mail: the address to which its answer, and the report of its end, go, and the Message-ID that they answer */
  readonly answerTo: string | undefined
  readonly answerId: string | undefined
  /** written into a connection, whose reader may have seen it: no other node is to show it again */
  readonly shown: boolean
}

export type NewMailboxEntry = Pick<
  MailboxEntry,
  'questionId' | 'from' | 'to' | 'text' | 'leftWallMs' | 'expiresWallMs' | 'expiryTrusted'
> &
  Partial<Pick<MailboxEntry, 'senderName' | 'answerTo' | 'answerId'>>

/** Call the writing ones inside `store.durably`. */
export interface MailboxTable {
  insert(entry: NewMailboxEntry): MailboxEntry
  findByQuestion(questionId: string): MailboxEntry | undefined
  find(id: number): MailboxEntry | undefined
  /** not ended, with the same sender, receiver and text */
  findSame(from: string, to: string, text: string): MailboxEntry | undefined
  /** 'waiting', for this station or for any SSID of its call; oldest first */
  waitingFor(call: string): MailboxEntry[]
  /** under way to this station */
  sendingTo(call: string): MailboxEntry[]
  /** whatever its state, taken by this question */
  collectedBy(collectQuestionId: string): MailboxEntry[]
  setSending(id: number, number: string, call: string, collectQuestionId?: string): void
  setWaiting(id: number): void
  setShown(id: number): void
  /** Another node has it, or may have it. */
  setPassedOn(id: number): void
  /** 'waiting', whoever they are for, oldest first, but what came by mail: it is answered, and reported on, from here alone */
  waiting(): MailboxEntry[]
  /** under way to any station */
  sending(): MailboxEntry[]
  notePrompt(ids: readonly number[], wallMs: number): void
  /** @param collectedBy where it is not who it was under way to */
  end(id: number, state: MailboxEnd, wallMs: number, reason?: string, collectedBy?: string): void
  /** at most so many of those 'waiting' past their time, where that is trusted; the oldest first */
  expired(wallMs: number, countMax: number): MailboxEntry[]
  /** not ended, with a time that is not trusted */
  readonly untrustedCount: number
  /** Gives at most so many with a time that is not trusted their time, now that the clock is. @returns how many */
  trustExpiry(expiresWallMs: number, countMax: number): number
  /** Nothing that waits expires later than that: the clock was ahead when its time was reckoned. */
  capExpiry(expiresWallMs: number): void
  openCountFrom(call: string): number
  /** 'waiting' or under way, left by this station; oldest first */
  openFrom(call: string): MailboxEntry[]
  openCountFor(call: string): number
  readonly openCount: number
  recent(limit: number): MailboxEntry[]
  /** of those that this station got, or is getting, the latest that came by mail */
  lastByMailTo(call: string): MailboxEntry | undefined
  /** all that one text to several became, ended or not; the questions' ids begin alike, up to the '>' */
  ofSeveral(questionId: string): MailboxEntry[]
  /** an entry of the newest text to several that a station left */
  newestOfSeveral(from: string): MailboxEntry | undefined
}

const open = "state IN ('waiting', 'sending')"
const ended = 'state = ?, ended_ms = ?, reason = ?, collected_by = coalesce(?, collected_by)'

export function mailboxTable(database: Database, rows: RowReader): MailboxTable {
  const expiring = expiringRows(database, 'mailbox')
  const list = (condition: string, ...values: (string | number)[]): MailboxEntry[] =>
    rows.list(table, `${condition} ORDER BY id`, ...values)
  const count = (condition: string, ...values: string[]): number =>
    database.get<{ count: number }>(
      `SELECT count(*) AS count FROM mailbox WHERE ${condition}`,
      ...values,
    )!.count
  const set = (what: string, id: number, ...values: (string | number | null)[]): void => {
    database.run(`UPDATE mailbox SET ${what} WHERE id = ?`, ...values, id)
  }
  const findByQuestion = (questionId: string): MailboxEntry | undefined =>
    list('question_id = ?', questionId)[0]

  return {
    findByQuestion,
    insert(entry) {
      database.run(
        `INSERT INTO mailbox (question_id, from_call, to_call, text, left_ms, expires_ms, expiry_trusted, state,
           sender_name, answer_to, answer_id)
         VALUES (?, ?, ?, ?, ?, ?, ?, 'waiting', ?, ?, ?) ON CONFLICT (question_id) DO NOTHING`,
        ...[entry.questionId, entry.from, entry.to, entry.text],
        ...[entry.leftWallMs, entry.expiresWallMs, entry.expiryTrusted ? 1 : 0],
        ...[entry.senderName ?? null, entry.answerTo ?? null, entry.answerId ?? null],
      )
      return findByQuestion(entry.questionId)!
    },
    find: (id) => list('id = ?', id)[0],
    findSame: (from, to, text) =>
      list(`${open} AND from_call = ? AND to_call = ? AND text = ?`, from, to, text)[0],
    waitingFor: (call) =>
      list("state = 'waiting' AND to_call IN (?, ?)", call, call.split('-')[0]!),
    sendingTo: (call) => list("state = 'sending' AND collected_by = ?", call),
    collectedBy: (collectQuestionId) => list('collect_question = ?', collectQuestionId),
    setSending(id, number, call, collectQuestionId) {
      database.run(
        `UPDATE mailbox SET state = 'sending', number = ?, collected_by = ?, collect_question = ? WHERE id = ?`,
        number,
        call,
        collectQuestionId ?? null,
        id,
      )
    },
    setWaiting: (id) => set("state = 'waiting'", id),
    setShown: (id) => set('shown = 1', id),
    setPassedOn: (id) => set("state = 'passed on'", id),
    waiting: () => rows.list(table, "state = 'waiting' AND answer_to IS NULL ORDER BY +id"),
    // The plus keeps the table's own order, and with it all of the table, out of it.
    sending: () => rows.list(table, "state = 'sending' ORDER BY +id"),
    notePrompt(ids, wallMs) {
      for (const id of ids) {
        database.run(
          'UPDATE mailbox SET prompted_ms = ?, prompt_count = prompt_count + 1 WHERE id = ?',
          wallMs,
          id,
        )
      }
    },
    end: (id, state, wallMs, reason, collectedBy) =>
      set(ended, id, state, wallMs, reason ?? null, collectedBy ?? null),
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
    capExpiry: expiring.capExpiry,
    ...ofSeveral(database, rows),
    openFrom: (call) => list(`${open} AND from_call = ?`, call),
    openCountFor: (call) => count(`${open} AND to_call = ?`, call),
    get openCount() {
      return count(open)
    },
    lastByMailTo: (call) => rows.first(table, lastByMail, call),
    recent: (limit) => list('id IN (SELECT id FROM mailbox ORDER BY id DESC LIMIT ?)', limit),
  }
}

const lastByMail = 'answer_to IS NOT NULL AND collected_by = ? ORDER BY id DESC LIMIT 1'
/** One text to several: an entry for each, under ids that begin alike. */
const ofSeveral = (
  database: Database,
  rows: RowReader,
): Pick<MailboxTable, 'openCountFrom' | 'ofSeveral' | 'newestOfSeveral'> => ({
  // It counts once.
  openCountFrom: (call) =>
    database.get<{ count: number }>(
      `SELECT count(DISTINCT substr(question_id, 1, instr(question_id || '>', '>') - 1)) AS count
       FROM mailbox WHERE ${open} AND from_call = ?`,
      call,
    )!.count,
  ofSeveral(questionId) {
    const beginning = questionId.split('>')[0]!
    // '?' comes next after '>'.
    const within = 'question_id > ? AND question_id < ? ORDER BY id'
    return rows.list(table, within, `${beginning}>`, `${beginning}?`)
  },
  newestOfSeveral: (from) =>
    rows.list(
      table,
      "from_call = ? AND instr(question_id, '>') > 0 ORDER BY id DESC LIMIT 1",
      from,
    )[0],
})

const table: Table<MailboxEntry> = {
  name: 'mailbox',
  columns: {
    id: ['id', whole],
    questionId: ['question_id', textOf(100)],
    from: ['from_call', callText],
    to: ['to_call', addresseeText],
    text: ['text', freeText],
    leftWallMs: ['left_ms', wallTime],
    expiresWallMs: ['expires_ms', wallTime],
    expiryTrusted: ['expiry_trusted', flag],
    state: ['state', oneOf(mailboxStates)],
    number: ['number', orNull(textOf(20))],
    collectedBy: ['collected_by', orNull(callText)],
    collectQuestionId: ['collect_question', orNull(textOf(100))],
    promptedWallMs: ['prompted_ms', orNull(wallTime)],
    promptCount: ['prompt_count', whole],
    endedWallMs: ['ended_ms', orNull(wallTime)],
    reason: ['reason', orNull(freeText)],
    senderName: ['sender_name', orNull(textOf(60))],
    answerTo: ['answer_to', orNull(textOf(254))],
    answerId: ['answer_id', orNull(textOf(1_000))],
    shown: ['shown', flag],
  },
}
