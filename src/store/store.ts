import type { Clock } from '../runtime/clock.js'
import { type ClockTrust, clockTrust } from '../runtime/clockTrust.js'
import { Failure } from '../runtime/failure.js'
import type { Attempt } from './attempts.js'
import { type Database, openDatabase } from './database.js'
import { type EmailTable, emailTable } from './emails.js'
import { type EventTable, eventTable } from './events.js'
import { type FrameTable, frameTable } from './frames.js'
import { gatherFileBeside, takeGathered } from './gathering.js'
import { type HillTable, hillTable } from './hills.js'
import { type KeyingTable, keyingTable } from './keyings.js'
import { type LetterTable, letterTable } from './letters.js'
import { logEmptying } from './logEmptying.js'
import { type MailboxTable, mailboxTable } from './mailbox.js'
import { type MessageTable, messageTable } from './messages.js'
import { type NoticeTable, noticeTable } from './notices.js'
import { type QuestionTable, questionTable } from './questions.js'
import { type RetentionOptions, startRetention, usedBytes } from './retention.js'
import { rowReader } from './rows.js'
import { type ServiceData, serviceData } from './serviceData.js'
import type { OpenSqlite } from './sqliteDriver.js'
import { type StationTable, stationTable } from './stations.js'
import { type TransmissionTable, transmissionTable } from './transmissions.js'
import { createWriter, type WriterCounters } from './writer.js'

export interface StoreOptions {
  /** a file, made when it does not exist; ':memory:' for one that ends with the process */
  readonly file: string
  readonly clock: Clock
  /** told what went wrong: damaged and set aside, disk full, read-only; the store goes on */
  readonly onFault?: (failure: Failure) => void
  /** what was heard waits so long for more before it is written; 0 where absent */
  readonly flushIntervalMs?: number
  /** nothing is removed where absent */
  readonly retention?: RetentionOptions
  /** while it does not trust the clock, nothing is removed for its age; default: one of its own */
  readonly clockTrust?: ClockTrust
  /** stations kept; default 20,000 */
  readonly stationsMax?: number
  /**
   * what to do with a file that cannot be opened or made, as on a disk that has gone read-only: 'fail' (the default)
   * throws; 'memory' tells it and goes on without the file, so that an unattended node still answers
   */
  readonly whenUnusable?: 'fail' | 'memory'
  /** leave the file as it is, unopened, as if it could not be used */
  readonly withoutFile?: boolean
  /** how the file is opened; default: SQLite on the machine's own files */
  readonly openFile?: OpenSqlite
}

export interface StoreState {
  readonly file: string
  readonly counters: Readonly<WriterCounters>
  /** gathered writes that wait */
  readonly pendingCount: number
  readonly usedBytes: number
  readonly stationCount: number
  /** rows that do not hold what they should: left out, and kept for the operator */
  readonly badRowCount: number
}

/** Everything that the node remembers. Reads and writes are synchronous; faults of the disk are values or counters. */
export interface Store {
  readonly file: string
  /** the file could not be used: nothing is kept beyond the end of the process, and nothing should be taken to be kept */
  readonly degraded: boolean
  readonly stations: StationTable
  readonly frames: FrameTable
  readonly events: EventTable
  readonly questions: QuestionTable
  readonly messages: MessageTable
  readonly mailbox: MailboxTable
  readonly notices: NoticeTable
  readonly letters: LetterTable
  readonly hills: HillTable
  readonly emails: EmailTable
  readonly transmissions: TransmissionTable
  readonly keyings: KeyingTable
  readonly serviceData: ServiceData
  /** Runs `work` in one transaction that is on the disk when this returns; nothing of it happened when it is not ok. */
  durably<Value>(doing: string, work: () => Value): Attempt<Value>
  /** Runs a read of any table; a fault of the disk gives `otherwise`, and is told. */
  reading<Value>(doing: string, otherwise: Value, read: () => Value): Value
  /** Raises a named number by one and returns it, starting with 1. Inside `durably` only. */
  count(name: string): number
  /** Brings what is gathered into the tables in short steps: a query of them after that is no long step itself. */
  settled(): Promise<void>
  /** Writes what is gathered, where other processes find it. */
  flush(): void
  state(): StoreState
  /** Writes what is gathered and lets go of the file. */
  close(): void
}

/** More was never counted: a row that says so is damaged, and the count begins anew. */
const countMax = 2 ** 48

/**
 * @throws Failure when the database cannot be opened or made at all, or is of a later version;
 *   a damaged one is set aside and told through onFault
 */
export function openStore(options: StoreOptions): Store {
  const { clock } = options
  const onFault = options.onFault ?? (() => {})
  const wallMs = (): number => clock.wallMs()
  const { database, degraded } = openOrDegrade(options, onFault, () => emptying.book())
  const emptying = logEmptying({ database, clock, onFault })
  const gatherFile = gatherFileBeside(database, onFault)
  const writer = createWriter(database, {
    clock,
    onFault,
    flushIntervalMs: options.flushIntervalMs ?? 0,
    pendingMax: 30_000,
    gatherFile,
  })
  const rows = rowReader(database, onFault)
  const stations = stationTable(database, writer, rows, {
    stationsMax: options.stationsMax ?? 20_000,
    wallMs,
  })
  const trust = options.clockTrust ?? clockTrust(clock)
  if (gatherFile !== undefined) takeGathered(database, writer, stations, gatherFile.takeFound())
  const cancelRetention =
    options.retention === undefined
      ? () => {}
      : startRetention({
          ...{ database, writer, stations, clock, trust },
          options: options.retention,
        })
  let closed = false

  return {
    file: database.file,
    degraded,
    stations,
    frames: frameTable(database, writer),
    events: eventTable(database, writer, rows),
    questions: questionTable(database, writer, rows, clock),
    messages: messageTable(database, writer, rows),
    mailbox: mailboxTable(database, rows),
    notices: noticeTable(database, rows),
    letters: letterTable(database, rows),
    hills: hillTable(database, rows),
    emails: emailTable(database, rows),
    transmissions: transmissionTable(database, writer),
    keyings: keyingTable(database, writer),
    serviceData: serviceData(database, writer, rows),
    durably: writer.durably,
    reading: writer.reading,
    count(name) {
      const row = database.get<{ value: number }>(
        `INSERT INTO counters (name, value) VALUES (?, 1)
         ON CONFLICT (name) DO UPDATE SET value =
           CASE WHEN typeof(value) = 'integer' AND value BETWEEN 0 AND ${countMax} THEN value + 1 ELSE 1 END
         RETURNING value`,
        name,
      )
      return row!.value
    },
    settled: writer.settled,
    flush: writer.flush,
    state: () => ({
      file: database.file,
      counters: writer.counters,
      pendingCount: writer.pendingCount,
      usedBytes: writer.reading('asking for its size', 0, () => usedBytes(database)),
      stationCount: stations.count,
      badRowCount: rows.badRowCount,
    }),
    close() {
      if (closed) return
      closed = true
      cancelRetention()
      writer.close()
      emptying.end()
      gatherFile?.close()
      database.close()
    },
  }
}

function openOrDegrade(
  options: StoreOptions,
  onFault: (failure: Failure) => void,
  onLogFull: () => void,
): { database: Database; degraded: boolean } {
  const { file, clock } = options
  const wallMs = (): number => clock.wallMs()
  const inMemory = (): { database: Database; degraded: boolean } => ({
    database: openDatabase({ file: ':memory:', onFault, wallMs }),
    degraded: true,
  })
  if (options.withoutFile === true) return inMemory()
  try {
    const { openFile } = options
    return {
      database: openDatabase({ file, onFault, wallMs, onLogFull, openFile }),
      degraded: false,
    }
  } catch (error) {
    // A file of a later version is a mistake to be mended, not a broken disk.
    const mayGoOn = error instanceof Failure && error.code !== 'store-newer'
    if (options.whenUnusable !== 'memory' || !mayGoOn) throw error
    onFault(
      new Failure({
        ...error.detail,
        advice: `${error.detail.advice}; until then nothing is kept, and no mail is taken`,
      }),
    )
    return inMemory()
  }
}
