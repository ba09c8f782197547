import { createNode } from '../node/node.js'
import type { ServiceNode } from '../node/serviceNode.js'
import type { Port } from '../radio/port.js'
import type { Clock } from '../runtime/clock.js'
import { type Random, seededRandom } from '../runtime/random.js'
import { virtualClock } from '../runtime/virtualClock.js'
import { boardService, postService } from '../services/board.js'
import { clockService } from '../services/clock.js'
import { helpService } from '../services/help.js'
import { collectService, leaveService } from '../services/mailbox.js'
import { defaultNodeOptions } from '../setup/defaultOptions.js'
import { openStore, type Store } from '../store/store.js'
import { checkRun, type RunFigures } from './checkers.js'
import { sayService } from './sayService.js'
import { createScenario, nodeCall, type ScenarioOptions } from './scenario.js'

export interface SimulationOptions extends Omit<ScenarioOptions, 'clock'> {
  /** the node's database; default ':memory:' */
  readonly file?: string
  readonly nodeOptions?: Parameters<typeof defaultNodeOptions>[0]
}

export interface SimulationResult {
  readonly problems: readonly string[]
  readonly figures: RunFigures
  /** of the virtual clock */
  readonly lastedMs: number
}

/** The node as it stands in every simulation: real conversations, real store, services that need no files. */
export function simulatedNode(parts: {
  readonly port: Port
  readonly clock: Clock
  readonly random: Random
  readonly store: Store
  readonly options?: SimulationOptions['nodeOptions'] | undefined
}): ServiceNode {
  let requestCount = 0
  return createNode({
    ports: [parts.port],
    clock: parts.clock,
    random: parts.random,
    nextId: () => `n${++requestCount}`,
    store: parts.store,
    services: [
      helpService(),
      leaveService,
      collectService,
      boardService,
      postService,
      clockService,
      sayService,
    ],
    options: defaultNodeOptions({
      call: nodeCall,
      limits: { perStation: 30 },
      mailbox: { perSender: 50, perReceiver: 50 },
      ...parts.options,
    }),
  })
}

const stepMs = 60_000
const lastedMsMax = 72 * 3_600_000

/** Runs a scenario with the node in this process, to its end, and checks both ends of it. */
export async function runSimulation(options: SimulationOptions): Promise<SimulationResult> {
  const clock = virtualClock()
  const scenario = createScenario({ ...options, clock })
  const store = openStore({ file: options.file ?? ':memory:', clock })
  const port = scenario.nodeRadio()
  const random = seededRandom(options.seed + 20_000)
  const node = simulatedNode({ port, clock, random, store, options: options.nodeOptions })
  node.start()
  scenario.start()
  const isOver = (): boolean => {
    const { openMessageCount, parkedMessageCount } = node.state()
    return scenario.finished && openMessageCount === parkedMessageCount
  }
  while (!isOver() && clock.monotonicMs() < lastedMsMax) {
    await clock.advanceToAsync(clock.monotonicMs() + stepMs)
  }
  const lastedMs = clock.monotonicMs()
  const { problems, figures } = checkRun(scenario, store)
  if (!isOver()) problems.push(`not over after ${lastedMs / 3_600_000} hours`)
  node.stop()
  store.close()
  return { problems, figures, lastedMs }
}
