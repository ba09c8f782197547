import { closeSync, openSync, writeSync } from 'node:fs'
import type { Clock } from '../runtime/clock.js'
import { orFailure } from '../runtime/orFailure.js'

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
  const about = {
    code: 'ptt-log',
    subject: file,
    cannotBe: 'written',
    advice: 'check ptt.logFile',
  } as const
  const handle = orFailure(about, () => openSync(file, 'a'))
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
