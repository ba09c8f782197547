import { closeSync, openSync, writeSync } from 'node:fs'
import type { Clock } from '../runtime/clock.js'
import { errorText } from '../runtime/errorText.js'
import { Failure } from '../runtime/failure.js'

/** Writes down every edge of a key line, at once, one line an edge. */
export interface EdgeLog {
  /** @param note why, in words; empty for the ordinary course */
  write(edge: 'keyed' | 'unkeyed', note?: string): void
  close(): void
}

/**
 * Appends to a file: wall time, monotonic milliseconds, edge, note, separated by single spaces:
 * `2026-01-01T00:00:00.000Z 12345.678 keyed`.
 * Written synchronously: the line is on its way to the disk before anything else happens, whatever ends the process.
 * @throws Failure 'ptt-log' when the file cannot be opened
 */
export function openEdgeLog(file: string, clock: Clock): EdgeLog {
  let handle: number
  try {
    handle = openSync(file, 'a')
  } catch (cause) {
    throw new Failure({
      code: 'ptt-log',
      subject: file,
      problem: `cannot be written: ${errorText(cause)}`,
      advice: 'check ptt.logFile',
      cause,
    })
  }
  return {
    write(edge, note = '') {
      const words = [
        new Date(clock.wallMs()).toISOString(),
        clock.monotonicMs().toFixed(3),
        edge,
        note.replaceAll('\n', ' '),
      ]
      try {
        writeSync(handle, `${words.filter((word) => word !== '').join(' ')}\n`)
      } catch {
        // A full disk must never keep a line from being released.
      }
    },
    close: () => closeSync(handle),
  }
}
