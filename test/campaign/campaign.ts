import { type DayResult, formatStimulus, runDay } from './day.js'
import { dayWorkers, type TimedDay } from './dayWorkers.js'
import { dayHours, liveDay } from './liveDay.js'
import { type Broken, type PromiseName, promiseNames } from './oracle.js'
import { recoveryNames } from './recoveries.js'
import { type FaultKind, faultKinds, hourMs, planSchedule, type Stimulus } from './schedule.js'
import { shrink } from './shrink.js'
import { Counts } from './tally.js'

/** What a number of days came to. */
export interface CampaignResult {
  readonly days: number
  readonly questions: number
  readonly lives: number
  readonly cpuS: number
  readonly faults: Counts
  readonly recoveries: Counts
  readonly checked: Readonly<Record<PromiseName, number>>
  readonly failures: readonly Failure[]
}

/** A day on which a promise did not hold. */
export interface Failure {
  readonly seed: number
  readonly broken: Broken
}

/**
 * Lives through one day a seed.
 * @param onDay told after each
 * @param jobs in so many processes; 1: in this one
 */
export async function runCampaign(
  seeds: readonly number[],
  onDay: (seed: number, day: DayResult) => void = () => {},
  jobs = 1,
): Promise<CampaignResult> {
  const total = {
    questions: 0,
    lives: 0,
    cpuS: 0,
    faults: new Counts(),
    recoveries: new Counts(),
    checked: Object.fromEntries(promiseNames.map((name) => [name, 0])) as Record<
      PromiseName,
      number
    >,
    failures: [] as Failure[],
  }
  const take = (seed: number, { day, cpuS }: TimedDay): void => {
    total.questions += day.questions
    total.lives += day.lives
    total.cpuS += cpuS
    total.faults.addAll(day.faults)
    total.recoveries.addAll(day.recoveries)
    for (const name of promiseNames) total.checked[name] += day.checked[name]
    const [broken] = day.broken
    if (broken !== undefined) total.failures.push({ seed, broken })
    onDay(seed, day)
  }
  if (jobs === 1) for (const seed of seeds) take(seed, await liveDay(seed))
  else {
    const workers = dayWorkers(jobs)
    try {
      await Promise.all(seeds.map(async (seed) => take(seed, await workers.live(seed))))
    } finally {
      workers.end()
    }
  }
  total.failures.sort((a, b) => a.seed - b.seed)
  return { days: seeds.length, ...total }
}

/** What a campaign must have put to the test, if it is to say anything. */
const demanded = { questionsADay: 500, ofEachFault: 20, ofEachPromise: 1_000 }
/** Of shorter campaigns less is demanded, in proportion. */
const daysForAll = 100

/** @returns in words what lacks, or does not hold; empty for a good campaign */
export function shortcomings(result: CampaignResult): string[] {
  const { days, questions, faults, recoveries, checked, failures } = result
  const share = Math.min(1, days / daysForAll)
  const ofEachFault = Math.ceil(share * demanded.ofEachFault)
  const ofEachPromise = Math.ceil(share * demanded.ofEachPromise)
  const few = (kind: FaultKind): string[] =>
    faults.of(kind) >= ofEachFault
      ? []
      : [`${kind}: ${faults.of(kind)} times, expected ${ofEachFault}`]
  return [
    ...failures.map(({ seed, broken }) => `seed ${seed}: broken: ${broken.promise}`),
    ...(questions / days >= demanded.questionsADay
      ? []
      : [`${Math.round(questions / days)} questions a day, expected ${demanded.questionsADay}`]),
    ...faultKinds.flatMap(few),
    ...promiseNames
      .filter((name) => checked[name] < ofEachPromise)
      .map((name) => `${name}: checked ${checked[name]} times, expected ${ofEachPromise}`),
    ...recoveryNames
      .filter((name) => recoveries.of(name) === 0)
      .map((name) => `never seen: ${name}`),
  ]
}

const triesMax = 150

/** The shortest part of a seed's schedule that breaks the same promise. */
export async function shortestSchedule({ seed, broken }: Failure): Promise<readonly Stimulus[]> {
  const untilMs = broken.atMs + 60_000
  const stimuli = planSchedule({ seed, hours: dayHours }).filter(({ atMs }) => atMs <= broken.atMs)
  const fails = async (some: readonly Stimulus[]): Promise<boolean> => {
    const day = await runDay({ seed, stimuli: some, untilMs })
    return day.broken.some(({ promise }) => promise === broken.promise)
  }
  return shrink(stimuli, fails, triesMax)
}

export const formatFailure = ({ seed, broken }: Failure, schedule: readonly Stimulus[]): string =>
  [
    `seed ${seed}: ${broken.promise}: ${broken.detail}, at ${(broken.atMs / hourMs).toFixed(2)} h`,
    `the shortest schedule found, ${schedule.length} of its stimuli:`,
    ...schedule.map((one) => `  ${formatStimulus(one)}`),
  ].join('\n')
