import { existsSync, statSync } from 'node:fs'
import { Failure } from '../runtime/failure.js'
import { type AirFrame, airFrames } from './airFrames.js'
import { type Database, databaseOver } from './database.js'
import { databaseFailure, databaseFaultKind, databaseText } from './databaseFault.js'
import { type EmailTable, emailTable } from './emails.js'
import { type EventTable, eventTable } from './events.js'
import { type FrameTable, frameTable } from './frames.js'
import { gatherFileOf } from './gatherFile.js'
import { gatheredElsewhere } from './gathering.js'
import { type KeyingTable, keyingTable } from './keyings.js'
import { type MailboxTable, mailboxTable } from './mailbox.js'
import { type MessageTable, messageTable } from './messages.js'
import { type NoticeTable, noticeTable } from './notices.js'
import { rowReader } from './rows.js'
import { applicationId, migrations } from './schema.js'
import { type ServiceData, serviceData } from './serviceData.js'
import { openSqlite, type Sqlite } from './sqliteDriver.js'
import { type StationTable, stationTable } from './stations.js'
import type { Writer } from './writer.js'

/** The tables of a database that a node may have open; nothing can be written through them. */
export interface StoreReader {
  readonly stations: StationTable
  readonly events: EventTable
  readonly frames: FrameTable
  readonly keyings: KeyingTable
  /** heard and sent, oldest first */
  readonly airFrames: (fromWallMs: number, toWallMs: number) => AirFrame[]
  readonly messages: MessageTable
  readonly mailbox: MailboxTable
  readonly notices: NoticeTable
  readonly emails: EmailTable
  readonly serviceData: ServiceData
  /** whether anything was written since the last call, as far as a glance tells */
  hasChanged(): boolean
  close(): void
}

/**
 * Opens a database for commands that only look. It is never made, mended or brought up to date here.
 * @throws Failure 'store-missing', 'store-foreign', 'store-older', 'store-newer', or what the driver says
 */
export function openStoreReader(file: string, wallMs: () => number): StoreReader {
  const sqlite = openReadOnly(file)
  const database = readingDatabase(file, sqlite)
  const writer = readingWriter(file)
  // The running node has told of them.
  const rows = rowReader(database, () => {})
  const elsewhere = gatheredElsewhere(database)
  const withHearings = (): StationTable => {
    const stationsMax = Number.POSITIVE_INFINITY
    const table = stationTable(database, writer, rows, { stationsMax, wallMs })
    for (const hearing of elsewhere().hearings) table.takeAgain(hearing)
    return table
  }
  let stations: StationTable | undefined
  try {
    return {
      // Most who look at a database want no station of it.
      get stations() {
        stations ??= withHearings()
        return stations
      },
      events: eventTable(database, writer, rows, elsewhere),
      frames: frameTable(database, writer),
      keyings: keyingTable(database, writer, () => elsewhere().writes),
      airFrames: airFrames(database, writer, () => elsewhere().writes),
      messages: messageTable(database, writer, rows),
      mailbox: mailboxTable(database, rows),
      notices: noticeTable(database, rows),
      emails: emailTable(database, rows),
      serviceData: serviceData(database, writer, rows),
      hasChanged: changeWatch(file, sqlite),
      close: () => sqlite.close(),
    }
  } catch (error) {
    sqlite.close()
    throw error
  }
}

/** What SQLite says of other connections' writes, and the time of the gathering file. */
function changeWatch(file: string, sqlite: Sqlite): () => boolean {
  let former = ''
  return () => {
    const gatheredAtMs = statSync(gatherFileOf(file), { throwIfNoEntry: false })?.mtimeMs
    const present = `${sqlite.pragma('data_version')} ${gatheredAtMs}`
    const changed = present !== former
    former = present
    return changed
  }
}

function openReadOnly(file: string): Sqlite {
  if (!existsSync(file))
    throw new Failure({
      code: 'store-missing',
      subject: file,
      problem: 'there is no such file',
      advice: 'run the node once, or give --config the file that it runs with',
    })
  let sqlite: Sqlite | undefined
  try {
    sqlite = openSqlite(file, { readOnly: true, busyTimeoutMs: 5_000 })
    const version = sqlite.pragma<number>('user_version')!
    const wrong = (code: string, got: string, advice: string): Failure =>
      new Failure({
        code,
        subject: file,
        got,
        expected: `a node's database of version ${migrations.length}`,
        advice,
      })
    if (sqlite.pragma('application_id') !== applicationId)
      throw wrong('store-foreign', 'a database of another program', 'give the right file')
    if (version > migrations.length)
      throw wrong('store-newer', `version ${version}`, 'use the program that made it')
    if (version < migrations.length)
      throw wrong('store-older', `version ${version}`, 'run the node once: it brings it up to date')
    return sqlite
  } catch (error) {
    sqlite?.close()
    throw error instanceof Failure ? error : readingFailure(file, 'opening it', error)
  }
}

function readingDatabase(file: string, sqlite: Sqlite): Database {
  const refuse = (): never => {
    throw new RangeError(`${file}: opened for reading only`)
  }
  return {
    ...databaseOver(file, () => sqlite),
    run: refuse,
    transaction: refuse,
    openTransaction: refuse,
    emptyLog: refuse,
  }
}

/** For a command a fault is not something to go on from: it ends in a message. */
function readingWriter(file: string): Writer {
  const refuse = (): never => {
    throw new RangeError(`${file}: opened for reading only`)
  }
  return {
    durably: refuse,
    later: refuse,
    heard: refuse,
    takeBack: refuse,
    settle: () => {},
    settleStep: () => false,
    settled: async () => {},
    flush: refuse,
    checkpoint: refuse,
    beginCheckpoint: refuse,
    isCheckpointing: false,
    changedStations: { count: 0, write: refuse },
    reading: (doing, _otherwise, read) => {
      try {
        return read()
      } catch (error) {
        throw readingFailure(file, doing, error)
      }
    },
    counters: { durableCount: 0, batchCount: 0, faultCount: 0, droppedCount: 0 },
    pendingCount: 0,
    close: () => {},
  }
}

/** Nothing is set aside or mended here, so the message must not say so. */
function readingFailure(file: string, doing: string, cause: unknown): Failure {
  if (databaseFaultKind(cause) !== 'damaged') return databaseFailure(file, doing, cause)
  return new Failure({
    code: 'store-damaged',
    subject: `${file}: ${doing}`,
    problem: databaseText(cause),
    advice: 'give the right file, or restore a back-up',
    cause,
  })
}
