import { fstatSync } from 'node:fs'

/** Priorities of a line of the journal. @see syslog(3), sd-daemon(3) */
export const journalPriority = { error: 3, warning: 4, notice: 5, info: 6, debug: 7 } as const

/**
 * True where what is written to a descriptor goes to the system's journal: it takes `<4>` before a line for the line's
 * priority, and nobody else does.
 * @param stream the environment's JOURNAL_STREAM, device and inode of the journal's socket; a service may have sent its
 *   output elsewhere all the same, so that they are compared
 * @see systemd.exec(5), JOURNAL_STREAM
 */
export function isJournal(stream: string | undefined, descriptor: number): boolean {
  const [device, inode] = (stream ?? '').split(':')
  if (!device || !inode) return false
  try {
    const { dev, ino } = fstatSync(descriptor, { bigint: true })
    return String(dev) === device && String(ino) === inode
  } catch {
    return false
  }
}
