import { seededRandom } from '../../../src/runtime/random.js'
import { runSession, type SessionResult } from './linkSession.js'

/** A session with everything drawn: version, sizes, window, and what happens to its frames. */
export function randomSession(seed: number, loss?: number): SessionResult {
  const random = seededRandom(seed * 7919)
  const between = (low: number, high: number): number =>
    low + Math.floor(random() * (high - low + 1))
  const version = random() < 0.5 ? '2.0' : '2.2'
  const worse = loss === undefined
  const duplicates = worse && random() < 0.5 ? random() * 0.3 : 0
  const reordered = worse && random() < 0.3 ? random() * 0.1 : 0
  return runSession({
    ...{ seed, version, loss: loss ?? random() * 0.4 },
    callerOctets: between(0, 1) * between(1, 4000),
    calledOctets: between(0, 3000),
    // An N(R) that comes late, seven frames on, is one that acknowledges all seven: nothing in modulo 8 can tell.
    windowFrames: between(1, version === '2.2' ? 20 : reordered > 0 ? 4 : 7),
    frameOctets: between(16, 256),
    ...{ duplicates, reordered },
    keyDelayMs: between(100, 600),
  })
}
