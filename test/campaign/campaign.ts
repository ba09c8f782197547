import { type DayResult, formatStimulus, runDay } from './day.js'
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

export const dayHours = 24

/** Lives through one day a seed. @param onDay told after each */
export async function runCampaign(
  seeds: readonly number[],
  onDay: (seed: number, day: DayResult) => void = () => {},
): Promise<CampaignResult> {
  const total = {
    questions: 0,
    lives: 0,
    faults: new Counts(),
    recoveries: new Counts(),
    checked: Object.fromEntries(promiseNames.map((name) => [name, 0])) as Record<
      PromiseName,
      number
    >,
    failures: [] as Failure[],
  }
  for (const seed of seeds) {
    const stimuli = planSchedule({ seed, hours: dayHours })
    const day = await runDay({ seed, stimuli, untilMs: dayHours * hourMs })
    total.questions += day.questions
    total.lives += day.lives
    total.faults.addAll(day.faults)
    total.recoveries.addAll(day.recoveries)
    for (const name of promiseNames) total.checked[name] += day.checked[name]
    const [broken] = day.broken
    if (broken !== undefined) total.failures.push({ seed, broken })
    onDay(seed, day)
    // A day is made of promises alone: what the system had to tell comes now, and lets go of its lives.
    await new Promise((resolve) => setImmediate(resolve))
  }
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
