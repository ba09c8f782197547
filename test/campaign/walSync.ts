import { closeSync, existsSync, openSync, readFileSync, readSync } from 'node:fs'

/** So much of a write-ahead log the disk is sure to hold; `salt` says of which of its rounds. */
export interface Synced {
  readonly salt: string
  readonly octets: number
}

/**
 * How much of a write-ahead log was synced. SQLite's file format has it in the log's shared index: the number of frames, how
 * many of them are in the database already, and the salt that changes when the log begins anew.
 * @see https://sqlite.org/walformat.html, section 2.1 (WAL-index header and checkpoint information)
 */
export class WalSync {
  private descriptor: number | undefined
  private takenFrames = 0

  /** @param synced what an earlier process had synced */
  constructor(
    private readonly file: string,
    private synced: Synced,
  ) {}

  /** A transaction has just been committed. @param durable the log was synced with it */
  committed(durable: boolean): void {
    const index = this.read()
    if (index === undefined) return
    const { salt, frames, taken, pageOctets } = index
    if (salt !== this.synced.salt) {
      this.synced = { salt, octets: headerOctets }
      this.takenFrames = 0
    }
    // A checkpoint syncs the log before it writes to the database.
    if (durable || taken > this.takenFrames)
      this.synced = { salt, octets: headerOctets + frames * (frameHeaderOctets + pageOctets) }
    this.takenFrames = taken
  }

  state(): Synced {
    return this.synced
  }

  /** Closing a file drops the process's locks on it: to be done when nothing depends on them any more. */
  close(): void {
    if (this.descriptor !== undefined) closeSync(this.descriptor)
    this.descriptor = undefined
  }

  private read() {
    if (this.descriptor === undefined) {
      if (!existsSync(`${this.file}-shm`)) return undefined
      this.descriptor = openSync(`${this.file}-shm`, 'r')
    }
    const index = Buffer.alloc(100)
    if (readSync(this.descriptor, index, 0, 100, 0) < 100) return undefined
    const size = index.readUInt16LE(14)
    return {
      pageOctets: size === 1 ? 65_536 : size,
      frames: index.readUInt32LE(16),
      salt: index.toString('hex', 32, 40),
      taken: index.readUInt32LE(96),
    }
  }
}

/** What lies on a disk when the machine starts is there. */
export function wholeLog(file: string): Synced {
  if (!existsSync(file)) return nothingSynced
  const octets = readFileSync(file)
  return { salt: octets.toString('hex', 16, 24), octets: octets.length }
}

export const nothingSynced: Synced = { salt: '', octets: 0 }

const headerOctets = 32
const frameHeaderOctets = 24
