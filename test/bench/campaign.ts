import {
  type CampaignResult,
  formatFailure,
  runCampaign,
  shortcomings,
  shortestSchedule,
} from '../campaign/campaign.js'
import type { DayResult } from '../campaign/day.js'
import { promiseNames } from '../campaign/oracle.js'
import { recoveryNames } from '../campaign/recoveries.js'
import { faultKinds } from '../campaign/schedule.js'
import type { Bench } from './bench.js'

const daysQuick = 25
const daysFull = 1_000

/** Whole days with everything that can go wrong; ends with 1 when a promise does not hold, or too little was tried. */
export const bench: Bench = {
  name: 'campaign',
  about: 'the whole system with faults and a hostile station, one simulated day a seed',
  async run({ seed, quick, days, jobs, shrinks }) {
    const count = days ?? (quick ? daysQuick : daysFull)
    const seeds = Array.from({ length: count }, (_, index) => seed + index)
    const onDay = (one: number, { broken, questions, lives }: DayResult): void => {
      const [first] = broken
      const end = first === undefined ? 'all held' : `broken: ${first.promise}: ${first.detail}`
      console.log(`seed ${one}: ${questions} questions, ${lives} lives of the process, ${end}`)
    }
    const result = await runCampaign(seeds, onDay, jobs ?? 1)
    report(result, seeds)
    for (const failure of shrinks === false ? [] : result.failures.slice(0, shownMax))
      console.log(`\n${formatFailure(failure, await shortestSchedule(failure))}`)
    const lacking = shortcomings(result)
    for (const line of lacking) console.log(`NOT AS DEMANDED: ${line}`)
    if (lacking.length > 0) process.exitCode = 1
  },
}

const shownMax = 3

function report(result: CampaignResult, seeds: readonly number[]): void {
  const { days, questions, lives, cpuS, failures } = result
  const each = cpuS / days
  console.log(
    `${days} days, seeds ${seeds[0]} to ${seeds.at(-1)}: ${Math.round(questions / days)} questions and ${Math.round(lives / days)} lives of the process a day`,
  )
  console.log(
    `${each.toFixed(1)} s of CPU a day, ${(60 / each).toFixed(1)} days a minute of one core`,
  )
  console.log(`${failures.length} days on which a promise did not hold\n`)
  table(
    'fault',
    'times',
    faultKinds.map((name) => [name, result.faults.of(name)]),
  )
  table(
    'way of recovery',
    'seen',
    recoveryNames.map((name) => [name, result.recoveries.of(name)]),
  )
  table(
    'promise',
    'checked',
    promiseNames.map((name) => [name, result.checked[name]]),
  )
}

function table(head: string, unit: string, rows: readonly (readonly [string, number])[]): void {
  console.log(`${head.padEnd(58)}${unit.padStart(9)}`)
  for (const [name, count] of rows) console.log(`${name.padEnd(58)}${String(count).padStart(9)}`)
  console.log('')
}
