import { writeFileSync } from 'node:fs'
import { setPriority } from 'node:os'

/** What is first in the queue of a processor, down to what everybody may ask for. */
const niceLevels = [-20, -15, -10, -5]

/**
 * Lets this thread, and the processes that it starts, run before others as far as the system allows (root, CAP_SYS_NICE, or a
 * limit such as the unit's LimitNICE). Where each session is a group of its own the level counts within the group only, so
 * the group is raised as well.
 * @returns the level that it has got, 0 for the ordinary one
 * @see setpriority(2), sched(7) "The autogroup feature"
 */
export function comeFirst(): number {
  for (const nice of niceLevels)
    if (succeeds(() => setPriority(nice))) {
      succeeds(() => writeFileSync('/proc/self/autogroup', String(nice)))
      return nice
    }
  return 0
}

function succeeds(attempt: () => void): boolean {
  try {
    attempt()
    return true
  } catch {
    return false
  }
}
