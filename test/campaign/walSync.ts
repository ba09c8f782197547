import { closeSync, existsSync, openSync, readSync } from 'node:fs'

/**
 * How much of a write-ahead log the disk is sure to hold. SQLite's file format has it in the log's shared index: the number
 * of frames, how many of them are in the database already, and the salt that changes when the log begins anew.
 * @see https://sqlite.org/walformat.html, section 2.1 (WAL-index header and checkpoint information)
 */
export class WalSync {
  private descriptor: number | undefined
  private syncedFrames = 0
  private takenFrames = 0
  private salt = ''

  constructor(private readonly file: string) {}

  /** A transaction has just been committed. @param synced the log was synced with it */
  committed(synced: boolean): void {
    const index = this.read()
    if (index === undefined) return
    const { salt, frames, taken } = index
    if (salt !== this.salt) {
      this.salt = salt
      this.syncedFrames = 0
      this.takenFrames = 0
    }
    // A checkpoint syncs the log before it writes to the database.
    if (synced || taken > this.takenFrames) this.syncedFrames = frames
    this.takenFrames = taken
  }

  /** Of the log's octets, so many are there after a power cut, for sure. */
  syncedOctets(): number {
    const index = this.read()
    if (index === undefined) return 0
    const frames = index.salt === this.salt ? this.syncedFrames : 0
    return walHeaderOctets + frames * (frameHeaderOctets + index.pageOctets)
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

const walHeaderOctets = 32
const frameHeaderOctets = 24
