import {
  copyFileSync,
  existsSync,
  mkdirSync,
  readdirSync,
  readFileSync,
  rmSync,
  statSync,
  writeFileSync,
} from 'node:fs'
import { basename, join } from 'node:path'
import type { AirtimeDisk } from '../../src/radio/airtimeFile.js'
import type { Random } from '../../src/runtime/random.js'
import { type OpenSqlite, openSqlite, type Sqlite } from '../../src/store/sqliteDriver.js'
import { nothingSynced, type Synced, WalSync, wholeLog } from './walSync.js'

/*
 * What a node's files go through. SQLite runs on real files. What a killed process leaves are its files as they are at that
 * moment, also in the middle of a transaction: they are copied, and the next life has the copy. What the power leaves is less:
 * of the write-ahead log the part that was synced last, and behind it sectors of 512 octets that came through, did not, or are
 * torn. The database file itself is synced by each checkpoint, which is over before anything else runs. So the model knows no
 * disk that lies about a sync, and no cut in the middle of a checkpoint or of a commit.
 *
 * The disk is never really asked to sync: what that would bring is what the model tells.
 */

export const databaseName = 'node.db'
export const airtimeName = `${databaseName}.airtime-0.json`
const walName = `${databaseName}-wal`
const gatherName = `${databaseName}-heard`
const sectorOctets = 512
/** SQLite's own default, from memory: no limit that matters. */
const pagesMax = 1_073_741_823

export class Disk {
  readonly database: string
  /** told before each statement; may throw nothing */
  onStatement: () => void = () => {}
  /** told after each commit */
  onCommit: (durable: boolean) => void = () => {}
  private readonly opened = new Set<Sqlite>()
  private sync: WalSync | undefined
  /** before the database was opened here */
  private synced: Synced = nothingSynced
  private airtime:
    | { readonly file: string; readonly text: string; readonly before?: string | undefined }
    | undefined
  fault: 'none' | 'full' | 'read-only' = 'none'
  /** the database as it is open now, past all that is injected */
  connection: Sqlite | undefined

  constructor(readonly folder: string) {
    this.database = join(folder, databaseName)
    mkdirSync(folder, { recursive: true })
  }

  readonly openFile: OpenSqlite = (file, options) => {
    const inner = openSqlite(file, options)
    if (file === ':memory:') return inner
    const sync = new WalSync(file, this.synced)
    this.sync?.close()
    this.sync = sync
    let durable = true
    const before = (): void => this.onStatement()
    const sqlite: Sqlite = {
      exec: (sql) => {
        before()
        if (sql.startsWith('PRAGMA synchronous')) {
          durable = sql.endsWith('FULL')
          return
        }
        inner.exec(sql)
        if (sql !== 'COMMIT') return
        sync.committed(durable)
        this.onCommit(durable)
      },
      all: (sql, ...values) => {
        before()
        return inner.all(sql, ...values)
      },
      get: (sql, ...values) => {
        before()
        try {
          return inner.get(sql, ...values)
        } finally {
          // it syncs the log before it writes to the database
          if (sql.startsWith('PRAGMA wal_checkpoint')) sync.committed(false)
        }
      },
      run: (sql, ...values) => {
        before()
        return inner.run(sql, ...values)
      },
      iterate: (sql, ...values) => inner.iterate(sql, ...values),
      pragma: (name) => inner.pragma(name),
      close: () => {
        this.opened.delete(inner)
        if (this.connection === inner) this.connection = undefined
        inner.close()
      },
    }
    this.opened.add(inner)
    if (file === this.database) this.connection = inner
    inner.exec('PRAGMA synchronous = OFF')
    this.limit(inner)
    return sqlite
  }

  /** Written twice a transmission: the text is in a file when the next life looks for it. */
  readonly airtimeDisk: AirtimeDisk = {
    replace: (file, text) => {
      if (this.fault !== 'none') throw systemError(this.fault)
      this.airtime = { file: basename(file), text, before: this.airtime?.text }
    },
    remove: (file) => {
      if (this.fault === 'read-only') throw systemError('read-only')
      this.airtime = undefined
      rmSync(file, { force: true })
    },
  }

  /** The engine itself says then that the disk is full, or may not be written. */
  setFault(fault: 'none' | 'full' | 'read-only'): void {
    this.fault = fault
    for (const sqlite of this.opened) this.limit(sqlite)
  }

  /** Somebody wrote to it and synced it. */
  isAsOnDisk(): void {
    this.synced = wholeLog(join(this.folder, walName))
  }

  /** What a killed process leaves. */
  copyTo(folder: string): Disk {
    const copy = new Disk(folder)
    copy.synced = this.sync?.state() ?? this.synced
    for (const name of readdirSync(this.folder))
      if (!name.endsWith('-shm') && !isFolder(join(this.folder, name)))
        copyFileSync(join(this.folder, name), join(folder, name))
    if (this.airtime !== undefined)
      writeFileSync(join(folder, this.airtime.file), this.airtime.text)
    return copy
  }

  /** What the power leaves. */
  cutTo(folder: string, random: Random): Disk {
    const copy = this.copyTo(folder)
    const wal = join(folder, walName)
    if (existsSync(wal)) writeFileSync(wal, torn(readFileSync(wal), copy.synced.octets, random))
    copy.synced = wholeLog(wal)
    const gather = join(folder, gatherName)
    if (existsSync(gather)) writeFileSync(gather, tornGathering(readFileSync(gather), random))
    this.cutAirtime(folder, random)
    return copy
  }

  /** Has a file beside the database as another disk has it: whatever became of the database, that one went on. */
  takeFrom(other: Disk, name: string): void {
    const file = join(this.folder, name)
    rmSync(file, { force: true })
    if (other.airtime?.file === name) writeFileSync(file, other.airtime.text)
    else if (existsSync(join(other.folder, name))) copyFileSync(join(other.folder, name), file)
  }

  close(): void {
    this.sync?.close()
    rmSync(this.folder, { recursive: true, force: true })
  }

  /** It is replaced without a sync: the old text, none, or an empty file may be there. */
  private cutAirtime(folder: string, random: Random): void {
    if (this.airtime === undefined) return
    const file = join(folder, this.airtime.file)
    const { before } = this.airtime
    const draw = random()
    if (draw < 0.3 && before !== undefined) writeFileSync(file, before)
    else if (draw < 0.4) writeFileSync(file, '')
    else if (draw < 0.5) rmSync(file, { force: true })
  }

  private limit(sqlite: Sqlite): void {
    try {
      const pages = this.fault === 'full' ? (sqlite.pragma<number>('page_count') ?? 1) : pagesMax
      sqlite.exec(`PRAGMA max_page_count = ${pages}`)
      sqlite.exec(`PRAGMA query_only = ${this.fault === 'read-only' ? 1 : 0}`)
    } catch {
      // closed, or no database at all
    }
  }
}

const isFolder = (path: string): boolean => statSync(path).isDirectory()

function systemError(fault: 'full' | 'read-only'): Error {
  const code = fault === 'full' ? 'ENOSPC' : 'EROFS'
  return Object.assign(new Error(`${code}: simulated`), { code })
}

/** What lies behind the last sync: each sector is as it was written, empty, or neither. */
function torn(octets: Buffer, syncedOctets: number, random: Random): Buffer {
  const length = random() < 0.3 ? Math.min(octets.length, syncedOctets) : octets.length
  const left = Buffer.from(octets.subarray(0, length))
  for (let at = syncedOctets; at < left.length; at += sectorOctets) {
    const draw = random()
    const end = Math.min(left.length, at + sectorOctets)
    if (draw < 0.35) left.fill(0, at, end)
    else if (draw < 0.5)
      for (let octet = at; octet < end; octet++) left[octet] = Math.floor(random() * 256)
  }
  return left
}

const blockOctets = 4096
const gatherMark = 0x52_50_47_46

/** The record written last may not have come to the disk. */
function tornGathering(octets: Buffer, random: Random): Buffer {
  let lastAt = -1
  let lastNumber = 0
  for (let at = 0; at + blockOctets <= octets.length; at += blockOctets) {
    if (octets.readUInt32BE(at) !== gatherMark) continue
    const number = octets.readDoubleBE(at + 8)
    if (number > lastNumber) [lastAt, lastNumber] = [at, number]
  }
  if (lastAt < 0 || random() < 0.4) return octets
  const from = lastAt + Math.floor(random() * (blockOctets / sectorOctets)) * sectorOctets
  octets.fill(
    0,
    from,
    Math.min(octets.length, from + sectorOctets * (1 + Math.floor(random() * 8))),
  )
  return octets
}
