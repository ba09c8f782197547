import type { TestContext } from 'vitest'
import { schedulingWitness } from './schedulingWitness.js'

/** Less than what a sound card's buffer holds: whoever waits longer for the processor loses samples. */
const starvedMs = 40
const tries = 2

/**
 * Lives through something on real audio and a real clock, then judges what was seen. What fails while other programs keep
 * the processor from us says nothing of ours: it is tried again, and then is 'not judged', which counts as skipped.
 * On a machine with nothing else to do each failure is a failure; on a busy one what needs no time is judged all the same.
 * @param live waits and watches, and computes nothing long: its own work would look like another program's
 * @param judge all of it
 * @param judgeTimeless what lost samples cannot change, such as that it is unkeyed at the end
 */
export async function judgedUnlessStarved<Seen>(
  context: TestContext,
  live: () => Promise<Seen>,
  judge: (seen: Seen) => void,
  tidy: () => void | Promise<void>,
  judgeTimeless: (seen: Seen) => void,
): Promise<void> {
  for (let count = 1; ; count++) {
    const witness = schedulingWitness()
    let gapMs: number | undefined
    let seen: Seen | undefined
    try {
      seen = await live()
      gapMs = witness.longestGapMs()
      judge(seen)
      return
    } catch (error) {
      gapMs ??= witness.longestGapMs()
      if (gapMs < starvedMs) throw error
      if (count === tries) {
        if (seen !== undefined) judgeTimeless(seen)
        context.skip(`not judged: other programs had the processor for ${Math.round(gapMs)} ms`)
      }
    } finally {
      witness.close()
    }
    await tidy()
  }
}
