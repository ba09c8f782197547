import { createHash } from 'node:crypto'
import { closeSync, fdatasync, fstatSync, fsyncSync, openSync, readSync, writeSync } from 'node:fs'
import { deflateRawSync, inflateRawSync } from 'node:zlib'

/*
 * What was heard is gathered here before it goes into the database: one compressed write of 4 kB in place, where a transaction of the
 * database costs ten pages, their check-summed copies in its log and the log's shared index. ext4 adds 12 kB of its own to any
 * write at all, so at a frame in 12 s this is what an SD card can be spared (npm run bench -- card-writes).
 *
 * The file has its full size from the beginning, so that a write changes no allocation, and a full disk stops nothing. Records
 * begin at blocks, and their numbers only grow. It is begun anew when all of it is in the database: what is left of
 * former rounds has lower numbers, and is not read.
 */

export interface GatherRecord {
  readonly number: number
  /** taken out of its compression each time that it is asked for */
  readonly text: string
}

export interface GatherFile {
  readonly name: string
  /**
   * Writes a record; the kernel is asked to bring it to the disk at once, without waiting for that.
   * @returns its number; undefined when the file is full: begin it anew, once all of it is in the database
   * @throws the system's error
   */
  append(text: string): number | undefined
  /** what it held when it was opened; once */
  takeFound(): readonly GatherRecord[]
  /**
   * Its records of this round, from one on, each read when it is asked for.
   * @throws Error where one of them cannot be read whole
   */
  recordsFrom(number: number): Iterable<GatherRecord>
  /** of the record written last, in whatever round; 0 for none */
  readonly lastNumber: number
  beginAnew(): void
  close(): void
}

export interface GatherFileOptions {
  /** numbers begin above this: the last one that the database has taken */
  readonly takenNumber: number
  /** default 8 MB: a day of a frame in 12 s */
  readonly sizeBytes?: number
  /** told when the disk did not take what was written */
  readonly onFault: (error: Error) => void
}

/** The gathered part of a database lies beside it. */
export const gatherSuffix = '-heard'
export const gatherFileOf = (databaseFile: string): string => databaseFile + gatherSuffix

const blockBytes = 4096
const mark = 0x52_50_47_46
const headerBytes = 24
const checkBytes = 8

/** @throws the system's error when it can be neither opened nor made */
export function openGatherFile(file: string, options: GatherFileOptions): GatherFile {
  const sizeBytes = options.sizeBytes ?? 8_388_608
  const descriptor = openSync(file, existingOrNew(file))
  let closed = false
  let position = 0
  let found: readonly GatherRecord[] = []
  let lastNumber = options.takenNumber
  try {
    const read = readRecords(descriptor)
    found = read.records
    position = read.endBytes
    lastNumber = Math.max(lastNumber, found.at(-1)?.number ?? 0)
    fillUp(descriptor, sizeBytes)
  } catch (error) {
    closeSync(descriptor)
    throw error
  }
  /** where each record of this round begins; the first of them has number firstNumber */
  let places: number[] = []
  let firstNumber = lastNumber + 1
  let syncing = false
  let writtenSince = false
  /** One at a time: a card that takes long gets no second request before the first has ended. */
  const sync = (): void => {
    writtenSince = syncing
    if (syncing) return
    syncing = true
    fdatasync(descriptor, (error) => {
      syncing = false
      if (closed) return
      if (error !== null) options.onFault(error)
      if (writtenSince) sync()
    })
  }
  return {
    name: file,
    takeFound() {
      const taken = found
      found = []
      return taken
    },
    *recordsFrom(number) {
      for (const place of places.slice(number - firstNumber)) {
        const read = readRecord(descriptor, place)
        if (read === undefined) throw new Error('a record of what was heard cannot be read again')
        yield read.record
      }
    },
    get lastNumber() {
      return lastNumber
    },
    append(text) {
      const octets = recordOf(lastNumber + 1, text)
      if (position + octets.length > sizeBytes) return undefined
      writeSync(descriptor, octets, 0, octets.length, position)
      places.push(position)
      position += octets.length
      lastNumber++
      sync()
      return lastNumber
    },
    beginAnew() {
      position = 0
      places = []
      firstNumber = lastNumber + 1
    },
    close() {
      closed = true
      closeSync(descriptor)
    },
  }
}

/** Reads the records of another process's file, as far as they are whole; none where there is no file. */
export const readGathered = (file: string): readonly GatherRecord[] => gatheredReader(file)(0)

/**
 * The same again and again: what was read stays, and only what has come is read.
 * @returns a function that gives the records of the present round, or none where that begins with one that the database has
 *   taken (up to `takenNumber`); the same array where nothing has changed
 */
export function gatheredReader(file: string): (takenNumber: number) => readonly GatherRecord[] {
  let former = noRecords
  return (takenNumber) => {
    let descriptor: number
    try {
      descriptor = openSync(file, 'r')
    } catch (error) {
      if ((error as NodeJS.ErrnoException).code === 'ENOENT') return noRecords.records
      throw error
    }
    try {
      // A round is taken as a whole.
      const first = readRecord(descriptor, 0)?.record.number ?? 0
      if (first <= takenNumber) return noRecords.records
      former = readRecords(descriptor, former.records[0]?.number === first ? former : noRecords)
      return former.records
    } finally {
      closeSync(descriptor)
    }
  }
}

interface ReadRecords {
  readonly records: readonly GatherRecord[]
  readonly endBytes: number
}

const noRecords: ReadRecords = { records: [], endBytes: 0 }

/** @param known what was read of this round before */
function readRecords(descriptor: number, known = noRecords): ReadRecords {
  const records = [...known.records]
  let { endBytes } = known
  for (;;) {
    const read = readRecord(descriptor, endBytes)
    const former = records.at(-1)
    if (read === undefined) break
    if (former !== undefined && read.record.number !== former.number + 1) break
    records.push(read.record)
    endBytes = read.endBytes
  }
  return records.length === known.records.length ? known : { records, endBytes }
}

/** @returns undefined for what is no record, or was not written to its end */
function readRecord(
  descriptor: number,
  position: number,
): { record: GatherRecord; endBytes: number } | undefined {
  // Most of them are one block.
  let record = Buffer.allocUnsafe(blockBytes)
  const readBytes = readSync(descriptor, record, 0, blockBytes, position)
  if (readBytes < headerBytes || record.readUInt32BE(0) !== mark) return undefined
  const byteCount = record.readUInt32BE(4)
  const wholeBytes = headerBytes + byteCount
  if (wholeBytes > readBytes) {
    if (position + wholeBytes > fstatSync(descriptor).size) return undefined
    record = Buffer.allocUnsafe(wholeBytes)
    if (readSync(descriptor, record, 0, wholeBytes, position) < wholeBytes) return undefined
  }
  const number = record.readDoubleBE(8)
  const packed = record.subarray(headerBytes, wholeBytes)
  if (!checkOf(number, packed).equals(record.subarray(16, 16 + checkBytes))) return undefined
  return { record: recordIn(number, packed), endBytes: position + blocksOf(wholeBytes) }
}

const recordIn = (number: number, packed: Uint8Array): GatherRecord => ({
  number,
  get text() {
    return inflateRawSync(packed).toString('utf8')
  },
})

function recordOf(number: number, text: string): Buffer {
  const octets = deflateRawSync(text, { windowBits: windowBitsFor(text.length) })
  const record = Buffer.alloc(blocksOf(headerBytes + octets.length))
  record.writeUInt32BE(mark, 0)
  record.writeUInt32BE(octets.length, 4)
  record.writeDoubleBE(number, 8)
  checkOf(number, octets).copy(record, 16)
  octets.copy(record, headerBytes)
  return record
}

/** No larger than the text has use for: the largest takes 256 kB of memory each time. 9 to 15, 512 octets to 32 kB. */
const windowBitsFor = (length: number): number =>
  Math.min(15, Math.max(9, Math.ceil(Math.log2(length + 1))))

const blocksOf = (byteCount: number): number => Math.ceil(byteCount / blockBytes) * blockBytes

const checkOf = (number: number, text: Uint8Array): Buffer =>
  createHash('sha256').update(`${number} `).update(text).digest().subarray(0, checkBytes)

function existingOrNew(file: string): string {
  try {
    closeSync(openSync(file, 'r+'))
    return 'r+'
  } catch (error) {
    if ((error as NodeJS.ErrnoException).code === 'ENOENT') return 'w+'
    throw error
  }
}

function fillUp(descriptor: number, sizeBytes: number): void {
  const have = fstatSync(descriptor).size
  if (have >= sizeBytes) return
  const missing = Buffer.alloc(sizeBytes - have)
  writeSync(descriptor, missing, 0, missing.length, have)
  fsyncSync(descriptor)
}
