import { type ChildProcess, fork } from 'node:child_process'
import type { HeardFrame, Port, Priority, TransmitOutcome } from '../radio/port.js'
import { type Random, seededRandom } from '../runtime/random.js'
import { type VirtualClock, virtualClock } from '../runtime/virtualClock.js'
import { openStore } from '../store/store.js'
import { checkRun, type RunFigures } from './checkers.js'
import { type FromNode, hexOf, octetsOf, type ToNode } from './crashProtocol.js'
import { createScenario, type Scenario, type ScenarioOptions } from './scenario.js'

export interface CrashRunOptions extends Omit<ScenarioOptions, 'clock'> {
  /** the node's database */
  readonly file: string
  /** compiled crashNode.js */
  readonly entry: string
  readonly killCount: number
  /** chance that a step of the node is one at which it is killed */
  readonly killShare: number
  /** burns so many real milliseconds; the moment of a kill within a step depends on it */
  readonly spinMs: (ms: number) => void
}

export interface CrashRunResult {
  readonly problems: readonly string[]
  readonly figures: RunFigures
  readonly killCount: number
  /** kills by what the node was doing: nothing, just given work, at work, just done */
  readonly killMoments: Readonly<Record<KillMoment, number>>
  readonly stepCount: number
  readonly lastedMs: number
}

const killMoments = ['idle', 'given', 'working', 'done'] as const
export type KillMoment = (typeof killMoments)[number]

/** Processes that have loaded everything and wait for a database: a start costs more than all else here. */
const sparesMax = 2
/** The node is back so long after it died. */
const restartMs = 4_000
/** Longest real time of one step at work, from which the moment of a kill is drawn. */
const workMsMax = 2
const lastedMsMax = 72 * 3_600_000

/**
 * Runs a scenario whose node lives in a process of its own, kills that process (SIGKILL) at random moments and starts
 * it again on the same database, then checks both ends as after any run.
 */
export async function crashRun(options: CrashRunOptions): Promise<CrashRunResult> {
  const clock = virtualClock()
  const scenario = createScenario({ ...options, clock })
  const random = seededRandom(options.seed + 30_000)
  const nursery = createNursery(options.entry)
  const moments: Record<KillMoment, number> = { idle: 0, given: 0, working: 0, done: 0 }
  let kills = 0
  let stepCount = 0
  let remote = await RemoteNode.start(nursery, scenario, clock, options.file, options.seed)
  scenario.start()

  try {
    while (clock.monotonicMs() < lastedMsMax) {
      if (scenario.finished && remote.busyMessageCount === 0) break
      const nextMs = Math.min(clock.nextAtMs() ?? lastedMsMax, remote.nextAtMs ?? lastedMsMax)
      clock.advanceTo(Math.max(clock.monotonicMs(), nextMs))
      if (!remote.hasWork(clock.monotonicMs())) continue
      stepCount++
      if (kills < options.killCount && random() < options.killShare) {
        const moment = killMoments[Math.floor(random() * killMoments.length)]!
        await remote.killAt(moment, random, options.spinMs)
        kills++
        moments[moment]++
        clock.advanceTo(clock.monotonicMs() + restartMs)
        const seed = options.seed + kills
        remote = await RemoteNode.start(nursery, scenario, clock, options.file, seed)
      } else await remote.step()
    }
    const over = clock.monotonicMs() < lastedMsMax
    await remote.finish()
    const store = openStore({ file: options.file, clock })
    const { problems, figures } = checkRun(scenario, store)
    store.close()
    if (!over) problems.push(`not over after ${lastedMsMax / 3_600_000} hours`)
    if (kills < options.killCount) problems.push(`over after ${kills} kills`)
    const lastedMs = clock.monotonicMs()
    return { problems, figures, killCount: kills, killMoments: moments, stepCount, lastedMs }
  } finally {
    nursery.close()
    remote.abandon()
  }
}

interface Nursery {
  take(): Promise<ChildProcess>
  close(): void
}

function createNursery(entry: string): Nursery {
  const spares: Promise<ChildProcess>[] = []
  const all = new Set<ChildProcess>()
  const bear = (): Promise<ChildProcess> =>
    new Promise((resolve, reject) => {
      const child = fork(entry, [], {
        execArgv: [],
        stdio: ['ignore', 'inherit', 'inherit', 'ipc'],
      })
      all.add(child)
      child.once('error', reject)
      child.once('exit', (code) => {
        all.delete(child)
        reject(new Error(`${entry} ended with ${code}`))
      })
      child.once('message', () => resolve(child))
    })
  const fill = (): void => {
    while (spares.length < sparesMax) {
      const spare = bear()
      spare.catch(() => {}) // told to whoever takes it
      spares.push(spare)
    }
  }
  fill()
  return {
    take() {
      const child = spares.shift()!
      fill()
      return child
    },
    close() {
      for (const child of all) child.kill('SIGKILL')
    },
  }
}

/** The node's process, and the radio that it has while it lives. */
class RemoteNode {
  nextAtMs: number | undefined
  busyMessageCount = 1
  private readonly port: Port
  private frames: string[] = []
  private outcomes: string[] = []
  private whenDone: (() => void) | undefined
  private dead = false

  static async start(
    nursery: Nursery,
    scenario: Scenario,
    clock: VirtualClock,
    file: string,
    seed: number,
  ): Promise<RemoteNode> {
    const remote = new RemoteNode(await nursery.take(), scenario, clock)
    await remote.ask({ kind: 'open', file, atMs: clock.monotonicMs(), seed })
    return remote
  }

  private constructor(
    private readonly child: ChildProcess,
    scenario: Scenario,
    private readonly clock: VirtualClock,
  ) {
    this.port = scenario.nodeRadio()
    this.port.onFrame((frame: HeardFrame) => this.frames.push(hexOf(frame.octets)))
    this.port.onOutcome((outcome: TransmitOutcome) => this.outcomes.push(JSON.stringify(outcome)))
    child.on('message', (message: FromNode) => this.take(message))
  }

  hasWork(nowMs: number): boolean {
    return this.frames.length + this.outcomes.length > 0 || (this.nextAtMs ?? Infinity) <= nowMs
  }

  async step(): Promise<void> {
    await this.ask(this.work())
  }

  /** Kills the process before, in, or after a step; what it gave to the radio until then counts. */
  async killAt(moment: KillMoment, random: Random, spinMs: (ms: number) => void): Promise<void> {
    if (moment === 'done') await this.step()
    else if (moment !== 'idle') {
      this.child.send(this.work())
      if (moment === 'working') spinMs(random() * workMsMax)
    }
    // 'close' comes after all that the process had written was read
    const gone = new Promise<void>((resolve) => this.child.once('close', () => resolve()))
    this.child.removeAllListeners('exit')
    this.child.kill('SIGKILL')
    await gone
    // A frame that was given to the radio may go out before the kernel lets go of the line: let half of them.
    if (random() < 0.5) this.clock.advanceTo(this.clock.monotonicMs() + 2_000)
    this.abandon()
  }

  async finish(): Promise<void> {
    const gone = new Promise<void>((resolve) => this.child.once('close', () => resolve()))
    this.child.removeAllListeners('exit')
    this.child.send({ kind: 'finish' } satisfies ToNode)
    await gone
  }

  abandon(): void {
    this.dead = true
    void this.port.close()
  }

  private work(): ToNode {
    const { frames, outcomes } = this
    this.frames = []
    this.outcomes = []
    return { kind: 'step', atMs: this.clock.monotonicMs(), frames, outcomes }
  }

  private ask(message: ToNode): Promise<void> {
    return new Promise((resolve, reject) => {
      this.whenDone = resolve
      this.child.removeAllListeners('exit')
      this.child.once('exit', (code, signal) =>
        reject(new Error(`the node's process ended by itself: ${code ?? signal}`)),
      )
      this.child.send(message)
    })
  }

  private take(message: FromNode): void {
    if (this.dead) return
    if (message.kind === 'send') {
      const { id, octets, priority, notAfterMs } = message
      this.port.send({
        id,
        octets: octetsOf(octets),
        priority: priority as Priority,
        notAfterMs,
        origin: 'node',
      })
    } else if (message.kind === 'withdraw') this.port.withdraw(message.id)
    else if (message.kind === 'done') {
      this.nextAtMs = message.nextAtMs
      this.busyMessageCount = message.busyMessageCount
      this.whenDone?.()
    }
  }
}
