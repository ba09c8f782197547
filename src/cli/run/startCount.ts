import { createHash } from 'node:crypto'
import { readFileSync, rmSync } from 'node:fs'
import { join } from 'node:path'
import { replaceFile } from '../../devices/replaceFile.js'
import { errorText } from '../../runtime/errorText.js'

export interface StartCountOptions {
  /** the database that it is about; the count lies beside it */
  readonly database: string
  /** where else it may lie, when the database's disk cannot be written: systemd's RUNTIME_DIRECTORY */
  readonly runtimeFolder?: string | undefined
  /** names this boot of the machine: starts that the power ended say nothing about the database */
  readonly bootId: string | undefined
  /** told in words when starts cannot be counted */
  readonly onFault: (text: string) => void
}

/** Starts in a row, with one database and in one boot of the machine, after which the node did not run for long. */
export interface StartCount {
  /** before this one */
  readonly failedStarts: number
  /** This start was sound, or was ended on purpose. */
  sound(): void
  /** This start failed for a reason that is known, and is not the database's. */
  withdraw(): void
}

/**
 * Counts this start as failed, until it is said to be sound: a process that is killed, or whose machine runs out of memory,
 * cannot say it any more.
 */
export function countStart(options: StartCountOptions): StartCount {
  const { database, runtimeFolder, bootId, onFault } = options
  const name = createHash('sha256').update(database).digest('hex').slice(0, 16)
  const places = [
    `${database}.starts.json`,
    ...(runtimeFolder ? [join(runtimeFolder, `starts-${name}.json`)] : []),
  ]
  const failedStarts = Math.max(...places.map((file) => readCount(file, bootId)))
  const write = (count: number): void => {
    let trouble: unknown
    for (const file of places) {
      try {
        // What the power takes away counts no more after it.
        replaceFile(file, JSON.stringify({ bootId, count }), { durable: false })
        return
      } catch (error) {
        trouble = error
      }
    }
    onFault(`starts are not counted: ${errorText(trouble)}`)
  }
  const forget = (): void => {
    for (const file of places) {
      try {
        rmSync(file, { force: true })
      } catch {
        // a disk that cannot be written to: told when it was tried
      }
    }
  }
  write(failedStarts + 1)
  return {
    failedStarts,
    sound: forget,
    withdraw: () => (failedStarts === 0 ? forget() : write(failedStarts)),
  }
}

function readCount(file: string, bootId: string | undefined): number {
  try {
    const read = JSON.parse(readFileSync(file, 'utf8')) as { bootId?: unknown; count?: unknown }
    const { count } = read
    return read.bootId === bootId && Number.isSafeInteger(count) && Number(count) >= 0
      ? Number(count)
      : 0
  } catch {
    // there is none, or it is damaged
    return 0
  }
}
