import type { Clock } from '../runtime/clock.js'
import { wallAgeMs } from '../runtime/clockTrust.js'
import { setNewest } from '../runtime/setNewest.js'
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

/** 'accepted' is acknowledged (where it had a number) and not answered yet; the others are ends. */
const questionStates = ['accepted', 'answered', 'refused', 'given up'] as const
export type QuestionState = (typeof questionStates)[number]

export interface QuestionRecord {
  readonly id: number
  /** unlike any other question's of any database: the row's number alone begins anew in a new one */
  readonly uniqueId: string
  readonly from: string
  /** the node's call or the alias that was asked */
  readonly addressee: string
  /** the sender's message number; undefined for a question that wants no acknowledgement */
  readonly number: string | undefined
  readonly text: string
  readonly radio: number
  readonly heardWallMs: number
  /** of its latest copy or retry */
  readonly lastHeardWallMs: number
  readonly state: QuestionState
  readonly reason: string | undefined
}

export type NewQuestion = Omit<
  QuestionRecord,
  'id' | 'uniqueId' | 'lastHeardWallMs' | 'state' | 'reason'
> & {
  /** makes the unique id, together with the row's number */
  readonly ownPart: string
}

/** Rows of version 1 have no part of their own. */
const uniqueIdOf = (id: number, ownPart: string): string =>
  ownPart === '' ? `Q${id}` : `Q${id}-${ownPart}`

/** Call the writing ones inside `store.durably`. */
export interface QuestionTable {
  insert(question: NewQuestion): QuestionRecord
  end(id: number, state: Exclude<QuestionState, 'accepted'>, wallMs: number, reason?: string): void
  /** now; gathered: when a copy was heard is no loss */
  heardAgain(id: number): void
  /**
   * The newest with the same sender, number and text, if it was heard not longer ago than this. What this process heard is
   * reckoned by the monotonic clock: a wall clock that is set makes nothing a copy, and none of it new. What an older
   * process heard is no copy when its stamp lies ahead.
   */
  findCopy(
    from: string,
    number: string | undefined,
    text: string,
    windowMs: number,
  ): QuestionRecord | undefined
  find(id: number): QuestionRecord | undefined
  /** accepted and not answered yet, oldest first */
  open(): QuestionRecord[]
  /** oldest first, the newest `limit` of them */
  recent(limit: number): QuestionRecord[]
}

const heardMax = 5_000

export function questionTable(
  database: Database,
  writer: Writer,
  rows: RowReader,
  clock: Clock,
): QuestionTable {
  const ages = questionAges(clock)
  // Hearings that wait in the batch, so that reading needs no write.
  const lastHeard = new Map<number, number>()

  const list = (condition: string, ...values: (string | number | null)[]): QuestionRecord[] =>
    rows.list(table, condition, ...values).map(({ ownPart, ...question }) => ({
      ...question,
      uniqueId: uniqueIdOf(question.id, ownPart),
      lastHeardWallMs: lastHeard.get(question.id) ?? question.lastHeardWallMs,
    }))

  return {
    insert({ ownPart, ...question }) {
      const { lastId } = database.run(
        `INSERT INTO questions (from_call, addressee, number, text, radio, heard_ms, last_heard_ms, state,
           own_part)
         VALUES (?, ?, ?, ?, ?, ?, ?, 'accepted', ?)`,
        question.from,
        question.addressee,
        question.number ?? null,
        question.text,
        question.radio,
        question.heardWallMs,
        question.heardWallMs,
        ownPart,
      )
      ages.heardNow(lastId)
      return {
        ...question,
        id: lastId,
        uniqueId: uniqueIdOf(lastId, ownPart),
        lastHeardWallMs: question.heardWallMs,
        state: 'accepted',
        reason: undefined,
      }
    },
    end(id, state, wallMs, reason) {
      database.run(
        'UPDATE questions SET state = ?, ended_ms = ?, reason = ? WHERE id = ?',
        state,
        wallMs,
        reason ?? null,
        id,
      )
    },
    heardAgain(id) {
      const wallMs = clock.wallMs()
      ages.heardNow(id)
      lastHeard.set(id, wallMs)
      writer.later('heardAgain', [wallMs, id], () => {
        if (lastHeard.get(id) === wallMs) lastHeard.delete(id)
      })
    },
    findCopy(from, number, text, windowMs) {
      const same = 'from_call = ? AND text = ? AND number IS ? ORDER BY id DESC LIMIT 1'
      const question = list(same, from, text, number ?? null)[0]
      return question && ages.ageMs(question) <= windowMs ? question : undefined
    },
    find: (id) => list('id = ?', id)[0],
    open: () => list("state = 'accepted' ORDER BY id"),
    recent: (limit) =>
      writer.reading('reading questions', [], () =>
        list('1 ORDER BY id DESC LIMIT ?', limit).reverse(),
      ),
  }
}

interface QuestionAges {
  heardNow(id: number): void
  ageMs(question: QuestionRecord): number
}

/** What this process heard is as old as the monotonic clock says; the one heard first is forgotten beyond heardMax. */
function questionAges(clock: Clock): QuestionAges {
  const heardMs = new Map<number, number>()
  return {
    heardNow(id) {
      setNewest(heardMs, id, clock.monotonicMs(), heardMax)
    },
    ageMs({ id, lastHeardWallMs }) {
      const atMs = heardMs.get(id)
      if (atMs !== undefined) return clock.monotonicMs() - atMs
      return wallAgeMs(lastHeardWallMs, clock.wallMs()) ?? Number.POSITIVE_INFINITY
    },
  }
}

type StoredQuestion = Omit<QuestionRecord, 'uniqueId'> & { readonly ownPart: string }

const table: Table<StoredQuestion> = {
  name: 'questions',
  columns: {
    id: ['id', whole],
    ownPart: ['own_part', textOf(40)],
    from: ['from_call', callText],
    addressee: ['addressee', textOf(9)],
    number: ['number', orNull(textOf(20))],
    text: ['text', freeText],
    radio: ['radio', whole],
    heardWallMs: ['heard_ms', wallTime],
    lastHeardWallMs: ['last_heard_ms', wallTime],
    state: ['state', oneOf(questionStates)],
    reason: ['reason', orNull(freeText)],
  },
}
