import { dutyShare, hillDays } from '../node/hills/hillDays.js'
import type { Bench } from './bench.js'

const daysAtOnce = 50

/** The steps of a hand-over, by what is written at each; the power fails before and after each of them. */
const steps = [
  'a message that somebody leaves',
  'a session with another node',
  'handing an entry on',
  'an entry of another node',
  'what another node keeps',
  'what became of an entry',
  'what became of entries',
  'what is shown over a connection',
  'what was read over a connection',
]
/** From so many days on each of them must have been cut, both ways. */
const daysForEachStep = 50

/** What both carriers are put to, and how it came out. */
export function campaign(by: 'radio' | 'broker', seed: number, days: number): void {
  let faults = 0
  const sum = { left: 0, delivered: 0, told: 0, powerCuts: 0, restores: 0, lostWithDisk: 0 }
  let worstShare = 0
  const [sessions, brokerCuts]: Record<string, number>[] = [{}, {}]
  const cuts = new Map(steps.map((step) => [step, { before: 0, after: 0 }]))
  const startedCpu = process.cpuUsage()
  const cpuS = (): number => {
    const { user, system } = process.cpuUsage(startedCpu)
    return (user + system) / 1e6
  }
  for (let done = 0; done < days; done += daysAtOnce) {
    const seedNow = seed + done
    const daysNow = Math.min(daysAtOnce, days - done)
    const result = hillDays({ seed: seedNow, days: daysNow, lettersPerDay: 200, by })
    for (const key of Object.keys(sum) as (keyof typeof sum)[]) sum[key] += result[key]
    addTo(sessions!, result.sessions)
    addTo(brokerCuts!, result.brokerCuts)
    for (const [step, [before, after]] of Object.entries(result.cutsAt)) {
      const known = cuts.get(step) ?? { before: 0, after: 0 }
      cuts.set(step, { before: known.before + before, after: known.after + after })
    }
    worstShare = Math.max(worstShare, result.worstShare)
    faults += result.faults.length
    for (const fault of result.faults.slice(0, 10)) console.log(`  seed ${seedNow}: ${fault}`)
    console.log(
      `  seed ${seedNow}: ${daysNow} days, ${result.left} left, ${result.faults.length} faults; ${(cpuS() / (done + daysNow)).toFixed(1)} s of CPU a day`,
    )
  }
  const ends = by === 'radio' ? { sessions } : { brokerCuts }
  console.log(`${days} days, seeds from ${seed} on: ${JSON.stringify({ ...sum, ...ends })}`)
  if (by === 'radio')
    console.log(
      `busiest hour of a node ${(100 * worstShare).toFixed(1)} % of the time, share set ${100 * dutyShare} %`,
    )
  console.log(`${faults} faults`)
  console.log('\n| the power cut at | before it was on the disk | after |\n|---|---|---|')
  for (const [step, { before, after }] of cuts) console.log(`| ${step} | ${before} | ${after} |`)
  const uncut = steps.filter((step) => Object.values(cuts.get(step)!).includes(0))
  if (days >= daysForEachStep && uncut.length > 0) {
    console.log(`never cut, before or after: ${uncut.join(', ')}`)
    process.exitCode = 1
  }
  if (faults > 0 || worstShare > dutyShare) process.exitCode = 1
}

function addTo(sums: Record<string, number>, counts: Readonly<Record<string, number>>): void {
  for (const [name, count] of Object.entries(counts)) sums[name] = (sums[name] ?? 0) + count
}

/** Three nodes in a row: letters from hand to hand while everything goes wrong. */
export const bench: Bench = {
  name: 'hills',
  about:
    'three nodes in a row: 200 letters a day, links and power cut, copies put back, clocks off',
  run({ seed, quick, days = quick ? 50 : 1000 }) {
    campaign('radio', seed, days)
    return Promise.resolve()
  },
}
