import { dirname, resolve } from 'node:path'
import { loadConfig } from '../../config/load.js'
import type { Config } from '../../config/schema.js'
import { createNode } from '../../node/node.js'
import type { ServiceNode } from '../../node/serviceNode.js'
import type { Port } from '../../radio/port.js'
import type { RadioCore } from '../../radio/radioCore.js'
import type { Clock } from '../../runtime/clock.js'
import { clockTrust } from '../../runtime/clockTrust.js'
import { seededRandom } from '../../runtime/random.js'
import { createServices } from '../../services/all.js'
import type { AlertParts, Alerts } from '../../setup/alerts.js'
import { nodeOptions } from '../../setup/nodeOptions.js'
import { serviceOptions } from '../../setup/serviceOptions.js'
import type { Air } from '../../simulation/air.js'
import { airStation } from '../../simulation/airStation.js'
import type { Story } from '../../simulation/story.js'
import type { NodeEvent } from '../../store/events.js'
import { openStore, type Store } from '../../store/store.js'
import type { Beside } from './beside/beside.js'
import { openStoryParts } from './storyParts.js'

/** A scenario's node: the real one, with its services, on the simulated air. */
export interface StoryNode {
  readonly core: RadioCore
  readonly node: ServiceNode
  readonly store: Store
  readonly config: Config
  start(): void
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
  /** which of the story's nodes; the first unless given */
  readonly number?: number
  readonly beside?: Beside
  readonly note?: (who: string, text: string) => void
}): Promise<StoryNode> {
  const { story, air, clock, tap = (core) => core, number = 0, beside, note = () => {} } = parts
  const { call, config: file } = [story.node, ...story.other][number]!
  const configFile = resolve(parts.folder, file)
  const config = withCall(await loadConfig(configFile), call, beside)
  const random = seededRandom(story.seed + 2 + 1000 * number)
  const core = airStation({ air, clock, random, call, repair: 'careful' })
  const trust = clockTrust(clock)
  const services = createServices({
    ...serviceOptions(config, dirname(configFile), clock, () => undefined),
    // An own service answers from a thread of its own, which a clock that runs ahead of the machine's would not wait for.
    own: { folder: '', timeLimitMs: 1000, memoryMb: 16 },
  })
  await services.ready
  const store = openStore({ file: ':memory:', clock })
  let lastId = 0
  const opened = await openStoryParts({
    ...{ config, folder: dirname(configFile), clock, clockTrust: trust, core, beside },
    note: (text) => note(call, text),
    repeats: number === 0 && story.node.digipeater,
    isConnectedTo: number === 0 && story.send.some(({ typed }) => typed !== undefined),
  })
  let alerts: Alerts | undefined
  const port = tap(core)
  const node = createNode({
    ports: [port],
    ...{ clock, clockTrust: trust, random, store, services: services.services },
    vocabulary: services.vocabulary,
    nextId: () => `demo-${number}-${++lastId}`,
    options: nodeOptions(config),
    ...(parts.onEvent && { onEvent: parts.onEvent }),
    ...{ connected: opened.connected, digipeater: opened.digipeater, hills: opened.hills },
    email: opened.email?.make,
    onEmergency: (report) => alerts?.emergency(report),
  })
  alerts = await alertsFor(config, {
    ...{ clock, node, store, ports: [core], telemetry: beside?.telemetry ?? [], folder: '.' },
    ...{
      sendMail: opened.email?.alert,
      brokerUp: opened.broker && (() => opened.broker!.state.isUp),
    },
    ...{ onAlert: (text) => note(call, text), onFault: (text) => note(call, text) },
  })
  await openClients({ story, number, store, clock, port, config, note })
  return {
    ...{ core, node, store, config },
    start() {
      node.start()
      opened.broker?.start(beside?.telemetry ?? [])
    },
    isIdle() {
      const { openQuestionCount, openMessageCount, email } = node.state()
      return openQuestionCount + openMessageCount + (email?.waitingCount ?? 0) === 0
    },
    async stop() {
      alerts?.close()
      node.stop()
      opened.broker?.close()
      opened.email?.close()
      await services.close()
      store.close()
    },
  }
}

/** On the simulated radio it answers under the story's call. */
const withCall = (config: Config, call: string, beside: Beside | undefined): Config => {
  const own = { ...config, station: { ...config.station, call } }
  return beside === undefined ? own : beside.configOf(own)
}

/** Loaded only where there are rules. */
async function alertsFor(
  config: Config,
  parts: Omit<AlertParts, 'options'>,
): Promise<Alerts | undefined> {
  if (config.alerts.rule.length === 0) return undefined
  const { openAlerts, alertOptions } = await import('../../setup/alerts.js')
  return openAlerts({ ...parts, options: alertOptions(config) })
}

/** The story's programs at the first node's KISS port: the real hub, without a network. */
async function openClients(parts: {
  readonly story: Story
  readonly number: number
  readonly store: Store
  readonly clock: Clock
  readonly port: Port
  readonly config: Config
  readonly note: (who: string, text: string) => void
}): Promise<void> {
  const { story, number, store, clock, port, config, note } = parts
  if (number > 0 || story.client.length === 0) return
  const [{ openConfiguredKiss }, { clientRecord }, { attachClients }] = await Promise.all([
    import('../../setup/kissEnds.js'),
    import('../../setup/clientRecord.js'),
    import('./beside/kissClients.js'),
  ])
  let lastId = 0
  const { hub } = await openConfiguredKiss({
    kiss: { ...config.kiss, tcp: { ...config.kiss.tcp, enabled: false } },
    ...{ ownCall: config.station.call, ports: [port], clock, nextId: () => `client ${++lastId}` },
    record: clientRecord({
      ...{ store, clock },
      onEvent: ({ kind, text, reason }) =>
        note(config.station.call, `${kind}: ${text}${reason === undefined ? '' : ` (${reason})`}`),
    }),
  })
  attachClients(story.client, hub, clock, note)
}
