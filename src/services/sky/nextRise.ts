import type { ElementSet } from './elementSet.js'
import { horizonOf } from './horizon.js'
import { indexQueue } from './indexQueue.js'
import type { Observer } from './look.js'
import { longestStepMs, type Pass, passesOf } from './passes.js'

export interface NextRise {
  readonly set: ElementSet
  readonly pass: Pass
}

const hourMs = 3_600_000
/** Looks so far ahead for all satellites before it looks further for any. */
const spansMs = [hourMs, 4 * hourMs, 12 * hourMs, 24 * hourMs]
/** A pass that begins within a span is seen whole. */
const passMs = 12 * hourMs
/** Some milliseconds of work. */
const roughAtATime = 1000
const searchesAtATime = 20

/**
 * The satellite that rises next, of those that are not up yet and get so high; of several at one time, the first of the list.
 *
 * Nearly all of a long list is dismissed cheaply: each satellite stands in a queue by the time before which it cannot rise,
 * the first of the queue is looked at more closely, and the search ends when the first of the queue is past the best rise
 * that was found. The answer is the one that a search of every satellite gives.
 * @returns undefined when none rises within a day
 */
export async function nextRise(
  sets: readonly ElementSet[],
  observer: Observer,
  fromMs: number,
  elevationMinDeg: number,
): Promise<NextRise | undefined> {
  const horizon = horizonOf(observer)
  const rest = pauses()
  /** by index: it does not rise before this; infinite for never */
  const notBefore = new Float64Array(sets.length)
  for (const [index, set] of sets.entries()) {
    const reaches = horizon.reaches(set, elevationMinDeg)
    notBefore[index] = reaches ? horizon.steadyUntil(set, fromMs) : Infinity
    await rest(roughAtATime)
  }
  for (const spanMs of spansMs) {
    const search = { fromMs, toMs: fromMs + spanMs, elevationMinDeg }
    const queue = indexQueue(sets.length)
    const endMs = search.toMs + longestStepMs
    for (const [index, timeMs] of notBefore.entries())
      if (timeMs <= endMs) queue.push(index, timeMs)
    let best: (NextRise & { index: number }) | undefined
    for (let index = queue.pop(); index !== undefined; index = queue.pop()) {
      const timeMs = notBefore[index]!
      if (timeMs > (best?.pass.rise.wallMs ?? endMs)) break
      const set = sets[index]!
      const laterMs = horizon.steadyUntil(set, timeMs)
      if (laterMs > timeMs + 1000) {
        notBefore[index] = laterMs
        queue.push(index, laterMs)
        await rest(roughAtATime)
        continue
      }
      const pass = firstRise(set, observer, search, best?.pass.rise.wallMs)
      if (pass !== undefined && isBefore({ pass, index }, best)) best = { set, pass, index }
      await rest(searchesAtATime)
    }
    if (best !== undefined) return best
  }
  return undefined
}

interface Rising {
  readonly pass: Pass
  readonly index: number
}
const isBefore = (one: Rising, other: Rising | undefined): boolean =>
  other === undefined ||
  one.pass.rise.wallMs < other.pass.rise.wallMs ||
  (one.pass.rise.wallMs === other.pass.rise.wallMs && one.index < other.index)

/** Of one that is not up yet. */
function firstRise(
  set: ElementSet,
  observer: Observer,
  { fromMs, toMs, elevationMinDeg }: { fromMs: number; toMs: number; elevationMinDeg: number },
  bestRiseMs = toMs,
): Pass | undefined {
  const riseToMs = Math.min(toMs, bestRiseMs)
  for (const pass of passesOf(set, observer, fromMs, toMs + passMs, 0, riseToMs)) {
    if (!pass.upAtStart && pass.highest.elevationDeg >= elevationMinDeg) return pass
  }
  return undefined
}

/** A long list must not hold up everything else: lets others have a turn after each so many. */
function pauses(): (everySoMany: number) => Promise<void> | undefined {
  let share = 0
  return (everySoMany) => {
    share += 1 / everySoMany
    if (share < 1) return undefined
    share = 0
    return new Promise((resume) => setImmediate(resume))
  }
}
