import { applyFault } from './faults.js'
import type { Broken, PromiseName } from './oracle.js'
import { faultKinds, type Stimulus } from './schedule.js'
import type { Counts } from './tally.js'
import { applyTraffic } from './traffic.js'
import { World } from './world.js'

export interface DayResult {
  readonly broken: readonly Broken[]
  readonly checked: Readonly<Record<PromiseName, number>>
  readonly faults: Counts
  readonly recoveries: Counts
  readonly questions: number
  readonly lives: number
  readonly lastedMs: number
}

export interface DayOptions {
  /** of the world: who is where, and every draw */
  readonly seed: number
  readonly stimuli: readonly Stimulus[]
  readonly untilMs: number
  /** told what happens, a line each */
  readonly trace?: (line: string) => void
}

/** Lives through a schedule, up to its end or to the first promise that does not hold. */
export async function runDay({ seed, stimuli, untilMs, trace }: DayOptions): Promise<DayResult> {
  const world = new World(seed, trace)
  const { clock, oracle } = world
  const advance = async (toMs: number): Promise<void> => {
    // In steps: what is broken is to be seen before much else has happened.
    while (clock.monotonicMs() < toMs && oracle.broken.length === 0)
      await clock.advanceToAsync(Math.min(toMs, clock.monotonicMs() + stepMs))
  }
  try {
    world.start()
    for (const stimulus of stimuli) {
      await advance(stimulus.atMs)
      if (oracle.broken.length > 0) break
      trace?.(`${(stimulus.atMs / 1000).toFixed(1)} * ${formatStimulus(stimulus)}`)
      if (isFault(stimulus)) applyFault(world, stimulus)
      else applyTraffic(world, stimulus)
    }
    await advance(untilMs)
    return {
      broken: oracle.broken,
      checked: oracle.checked,
      faults: world.faults,
      recoveries: world.recoveries,
      questions: world.questions,
      lives: world.lives,
      lastedMs: clock.monotonicMs(),
    }
  } finally {
    world.close()
  }
}

/** One line of a schedule, as a failure prints it. */
export const formatStimulus = ({ id, atMs, kind, seed, lastsMs }: Stimulus): string =>
  `${formatTime(atMs)} ${kind}${lastsMs > 0 ? ` for ${Math.round(lastsMs / 1000)} s` : ''} (number ${id}, seed ${seed})`

const formatTime = (ms: number): string => {
  const part = (value: number): string => String(Math.floor(value)).padStart(2, '0')
  return `${part(ms / 3_600_000)}:${part((ms / 60_000) % 60)}:${part((ms / 1000) % 60)}`
}

const stepMs = 30_000

const isFault = ({ kind }: Stimulus): boolean => (faultKinds as readonly string[]).includes(kind)
