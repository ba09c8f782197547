import { seededRandom } from '../../../src/runtime/random.js'
import { runSession, type SessionResult } from './linkSession.js'

/** A session with everything drawn: version, sizes, window, and what happens to its frames. */
export function randomSession(seed: number, loss?: number): SessionResult {
  const random = seededRandom(seed * 7919)
  const between = (low: number, high: number): number =>
    low + Math.floor(random() * (high - low + 1))
  const version = random() < 0.5 ? '2.0' : '2.2'
  const worse = loss === undefined
  return runSession({
    ...{ seed, version, loss: loss ?? random() * 0.4 },
    callerOctets: between(0, 1) * between(1, 4000),
    calledOctets: between(0, 3000),
    windowFrames: between(1, version === '2.0' ? 7 : 20),
    frameOctets: between(16, 256),
    // What comes late by a whole window of eight passes for new: nothing in modulo 8 can tell.
    duplicates: worse && random() < 0.5 ? random() * 0.3 : 0,
    reordered: worse && random() < 0.3 ? random() * 0.1 : 0,
    keyDelayMs: between(100, 600),
  })
}
