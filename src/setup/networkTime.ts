import { statSync } from 'node:fs'

/** Touched by systemd-timesyncd whenever it has heard from its server. @see systemd-timesyncd.service(8) (from memory) */
const markFile = '/run/systemd/timesync/synchronized'

/** When network time was received last; undefined where it never was, or another service keeps the time. */
export function networkTimeMark(): number | undefined {
  try {
    return statSync(markFile, { throwIfNoEntry: false })?.mtimeMs
  } catch {
    // not ours to see
    return undefined
  }
}
