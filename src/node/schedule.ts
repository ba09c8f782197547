import { Cron } from 'croner'
import type { Cancel, Clock } from '../runtime/clock.js'
import type { Random } from '../runtime/random.js'
import type { BeaconSchedule } from './beaconOptions.js'

/** The next moment after `wallMs` that a cron expression names, in UTC; undefined when there is none. */
export function nextCronMs(expression: string, wallMs: number): number | undefined {
  const job = new Cron(expression, { timezone: 'UTC', paused: true })
  return job.nextRun(new Date(wallMs))?.getTime()
}

/** The wall clock may be set while we wait: look again at least so often. */
const lookAgainMs = 60_000
const firstAfterMsMax = 60_000

/** Runs `run` at every moment of the schedule until cancelled. */
export function onSchedule(
  clock: Clock,
  random: Random,
  schedule: BeaconSchedule,
  run: () => void,
): Cancel {
  let cancel: Cancel = () => {}
  const { cron, everyMs } = schedule
  if (cron !== undefined) {
    // Looking forward from the last one due, so that none is skipped when a timer rings late.
    let lastWallMs = clock.wallMs()
    const wait = (): void => {
      const nextWallMs = nextCronMs(cron, lastWallMs)
      if (nextWallMs === undefined) return
      const waitMs = nextWallMs - clock.wallMs()
      if (waitMs > lookAgainMs) {
        // A clock that was set back would make the wait endless: start from what it says now.
        cancel = clock.at(clock.monotonicMs() + lookAgainMs, () => {
          lastWallMs = Math.min(lastWallMs, clock.wallMs())
          wait()
        })
        return
      }
      cancel = clock.at(clock.monotonicMs() + Math.max(0, waitMs), () => {
        const nowMs = clock.wallMs()
        const late = nowMs - nextWallMs > lookAgainMs
        lastWallMs = Math.max(nowMs, nextWallMs)
        wait()
        // after a jump of the clock the missed ones are gone
        if (!late) run()
      })
    }
    wait()
  } else if (everyMs !== undefined) {
    // A short random wait: nodes that share a power cut must not all start together.
    const firstMs = Math.min(everyMs, firstAfterMsMax) * (0.1 + 0.9 * random())
    let dueMs = clock.monotonicMs() + firstMs
    const tick = (): void => {
      dueMs = Math.max(dueMs + everyMs, clock.monotonicMs())
      cancel = clock.at(dueMs, tick)
      run()
    }
    cancel = clock.at(dueMs, tick)
  }
  return () => cancel()
}
