import { dirname, resolve } from 'node:path'
import { loadConfig } from '../../config/load.js'
import type { Config } from '../../config/schema.js'
import type { MakeConnected } from '../../node/connected/connectedMode.js'
import type { MakeDigipeater } from '../../node/digipeater/digipeater.js'
import { createNode } from '../../node/node.js'
import type { ServiceNode } from '../../node/serviceNode.js'
import type { Port } from '../../radio/port.js'
import type { RadioCore } from '../../radio/radioCore.js'
import type { Clock } from '../../runtime/clock.js'
import { seededRandom } from '../../runtime/random.js'
import { createServices } from '../../services/all.js'
import { nodeOptions } from '../../setup/nodeOptions.js'
import { serviceOptions } from '../../setup/serviceOptions.js'
import type { Air } from '../../simulation/air.js'
import { airStation } from '../../simulation/airStation.js'
import type { Story } from '../../simulation/story.js'
import type { NodeEvent } from '../../store/events.js'
import { openStore, type Store } from '../../store/store.js'

/** A scenario's node: the real one, with its services, on the simulated air. */
export interface StoryNode {
  readonly core: RadioCore
  readonly node: ServiceNode
  readonly store: Store
  readonly config: Config
  isIdle(): boolean
  stop(): Promise<void>
}

export async function openStoryNode(parts: {
  readonly story: Story
  /** of the scenario; file names in it are relative to that */
  readonly folder: string
  readonly air: Air
  readonly clock: Clock
  /** the port that the node gets */
  readonly tap?: (core: RadioCore) => Port
  readonly onEvent?: (event: NodeEvent) => void
}): Promise<StoryNode> {
  const { story, air, clock, tap = (core) => core } = parts
  const configFile = resolve(parts.folder, story.node.config)
  const config = await loadConfig(configFile)
  const random = seededRandom(story.seed + 2)
  const core = airStation({ air, clock, random, call: story.node.call, repair: 'careful' })
  const services = createServices({
    ...serviceOptions(config, dirname(configFile), clock, () => undefined),
    // An own service answers from a thread of its own, which a clock that runs ahead of the machine's would not wait for.
    own: { folder: '', timeLimitMs: 1000, memoryMb: 16 },
  })
  await services.ready
  const store = openStore({ file: ':memory:', clock })
  let lastId = 0
  const connected = story.send.some(({ typed }) => typed !== undefined)
    ? await connectedFor(story, config)
    : undefined
  const digipeater = story.node.digipeater ? await digipeaterFor(story, config) : undefined
  const node = createNode({
    ports: [tap(core)],
    ...{ clock, random, store, services: services.services },
    vocabulary: services.vocabulary,
    nextId: () => `demo ${++lastId}`,
    options: { ...nodeOptions(config), call: story.node.call },
    ...(parts.onEvent && { onEvent: parts.onEvent }),
    ...{ connected, digipeater },
  })
  return {
    ...{ core, node, store, config },
    isIdle: () => node.state().openQuestionCount === 0 && node.state().openMessageCount === 0,
    async stop() {
      node.stop()
      await services.close()
      store.close()
    },
  }
}

/** Loaded only where it is wanted; as the configuration has it, but on the one radio of the scenario. */
async function digipeaterFor({ node }: Story, config: Config): Promise<MakeDigipeater> {
  const [{ digipeater }, { digipeaterOptions }] = await Promise.all([
    import('../../node/digipeater/digipeater.js'),
    import('../../setup/digipeaterOptions.js'),
  ])
  const station = { ...config.station, call: node.call }
  const table = { ...config.digipeater, enabled: true, radios: [0] }
  const options = digipeaterOptions({ ...config, station, digipeater: table })
  return (parts) => digipeater({ ...parts, options })
}

/** Loaded only where somebody connects. */
async function connectedFor({ node }: Story, config: Config): Promise<MakeConnected> {
  const [{ connectedMode }, { connectedOptions }] = await Promise.all([
    import('../../node/connected/connectedMode.js'),
    import('../../setup/connectedOptions.js'),
  ])
  const station = { ...config.station, call: node.call }
  const options = { ...connectedOptions({ ...config, station }), radios: [0] }
  return (parts) => connectedMode({ ...parts, options })
}
