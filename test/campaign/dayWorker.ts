// Entry of a process that lives through the days of the seeds that it is sent, one after the other.
import type { DayResult } from './day.js'
import { liveDay } from './liveDay.js'

/** What is sent back of a day. */
export interface DayLeft {
  readonly day: Omit<DayResult, 'faults' | 'recoveries'>
  readonly faults: readonly (readonly [string, number])[]
  readonly recoveries: readonly (readonly [string, number])[]
  readonly cpuS: number
}

process.on('message', (seed: number) => {
  void liveDay(seed).then(({ day, cpuS }) => {
    const { faults, recoveries, ...rest } = day
    process.send?.({
      day: rest,
      faults: faults.entries(),
      recoveries: recoveries.entries(),
      cpuS,
    } satisfies DayLeft)
  })
})
