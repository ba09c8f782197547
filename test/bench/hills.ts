import { dutyShare, hillDays } from '../node/hills/hillDays.js'
import type { Bench } from './bench.js'

const daysAtOnce = 50

/** Three nodes in a row: letters from hand to hand while everything goes wrong. */
export const bench: Bench = {
  name: 'hills',
  about:
    'three nodes in a row: 200 letters a day, links and power cut, copies put back, clocks off',
  run({ seed, quick, days = quick ? 50 : 1000 }) {
    let faults = 0
    const sum = { left: 0, delivered: 0, told: 0, powerCuts: 0, restores: 0, lostWithDisk: 0 }
    let worstShare = 0
    const sessions: Record<string, number> = {}
    for (let done = 0; done < days; done += daysAtOnce) {
      const seedNow = seed + done
      const result = hillDays({
        ...{ seed: seedNow, days: Math.min(daysAtOnce, days - done), lettersPerDay: 200 },
      })
      for (const key of Object.keys(sum) as (keyof typeof sum)[]) sum[key] += result[key]
      for (const [end, count] of Object.entries(result.sessions))
        sessions[end] = (sessions[end] ?? 0) + count
      worstShare = Math.max(worstShare, result.worstShare)
      faults += result.faults.length
      for (const fault of result.faults.slice(0, 10)) console.log(`  seed ${seedNow}: ${fault}`)
      console.log(`  seed ${seedNow}: ${result.left} left, ${result.faults.length} faults`)
    }
    console.log(`${days} days, seeds from ${seed} on: ${JSON.stringify({ ...sum, sessions })}`)
    console.log(
      `busiest hour of a node ${(100 * worstShare).toFixed(1)} % of the time, share set ${100 * dutyShare} %; ${faults} faults`,
    )
    if (faults > 0 || worstShare > dutyShare) process.exitCode = 1
    return Promise.resolve()
  },
}
