import type { Clock } from '../runtime/clock.js'
import type { RadioReport } from './radioWatch.js'
import type { Waiting } from './transmitQueue.js'

const queueShownMax = 100

/** Tells the queue when it is another. */
export function queueTeller(
  clock: Clock,
  waiting: () => readonly Waiting[],
  tell: (report: RadioReport) => void,
): { look(): void } {
  let told = ''
  return {
    look() {
      const items = waiting()
      const present = items.map(({ id, heldFor }) => `${id} ${heldFor}`).join()
      if (present === told) return
      told = present
      const nowMs = clock.monotonicMs()
      tell({
        kind: 'queue',
        atWallMs: clock.wallMs(),
        items: items
          .slice(0, queueShownMax)
          .map(({ id, priority, origin, sinceMs, notAfterMs, heldFor, content }) => ({
            ...{ id, priority, origin, heldFor },
            ageMs: nowMs - sinceMs,
            leftMs: notAfterMs - nowMs,
            octets: content.kind === 'frame' ? content.octets : undefined,
          })),
      })
    },
  }
}
