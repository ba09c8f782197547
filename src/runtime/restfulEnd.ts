import { type Clock, pause } from './clock.js'

/** One look at what the process used lasts so long, and so many in a row must find it at rest. */
const lookMs = 20
const restfulLooks = 2
/** Less than that in one look is the look itself. */
const restMs = 3
const looksMax = 50

/**
 * Waits until V8's helper threads have nothing more to do, for a second at most. Where one of them compiles when the event
 * loop is empty, and needs memory collected for it, Node 20 waits for it before it does that, and so for ever: two of
 * some 150 short `decode`s on a busy machine never ended. While the event loop turns it is collected.
 * @param usedMs CPU time that all threads of the process have used so far
 */
export async function restfulEnd(clock: Clock, usedMs: () => number): Promise<void> {
  let restful = 0
  let before = usedMs()
  for (let look = 0; look < looksMax && restful < restfulLooks; look++) {
    await pause(clock, lookMs)
    const now = usedMs()
    restful = now - before < restMs ? restful + 1 : 0
    before = now
  }
}
