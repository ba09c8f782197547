import { parseConfig } from '../../../src/config/load.js'
import { connectedMode } from '../../../src/node/connected/connectedMode.js'
import type { LifeMark } from '../../../src/node/hills/hillParts.js'
import { hills } from '../../../src/node/hills/hills.js'
import { createNode } from '../../../src/node/node.js'
import type { ServiceNode } from '../../../src/node/serviceNode.js'
import { seededRandom } from '../../../src/runtime/random.js'
import { type VirtualClock, virtualClock } from '../../../src/runtime/virtualClock.js'
import { boardService, postService } from '../../../src/services/board.js'
import { bulletinsService } from '../../../src/services/bulletins.js'
import { mailService } from '../../../src/services/mail.js'
import { collectService, leaveService } from '../../../src/services/mailbox.js'
import { whereService } from '../../../src/services/where.js'
import { connectedOptions } from '../../../src/setup/connectedOptions.js'
import { hillOptions } from '../../../src/setup/hillOptions.js'
import { nodeOptions } from '../../../src/setup/nodeOptions.js'
import { type Channel, createChannel } from '../../../src/simulation/channel.js'
import { type HandHeld, handHeld } from '../../../src/simulation/handHeld.js'
import { type SimulatedRadio, simulatedRadio } from '../../../src/simulation/simulatedRadio.js'
import type { NodeEvent } from '../../../src/store/events.js'
import type { Store } from '../../../src/store/store.js'
import { openTestStore } from '../../store/openTestStore.js'
import type { SimBroker } from '../broker/simBroker.js'
import { simCarrier } from '../broker/simCarrier.js'

export interface HillNode {
  /** as in frames; what it is connected to has SSID 5 */
  readonly call: string
  readonly name: string
  readonly radio: SimulatedRadio
  readonly store: Store
  node: ServiceNode
  readonly events: NodeEvent[]
}

export interface HillValleyOptions {
  /** calls of the nodes, without SSID, in a row: each hears the one before and the one behind it */
  readonly nodes: readonly string[]
  readonly loss?: number
  readonly seed?: number
  /** lines of the table [hills] and what follows it, by call */
  readonly toml?: (call: string) => string
  /** they do not hear each other, and are reached by this */
  readonly broker?: SimBroker
  readonly clock?: VirtualClock
}

/** Nodes in a row, each the real one on a simulated channel: data links, transmit controllers, databases; with people beside them. */
export class HillValley {
  readonly clock: VirtualClock
  readonly channel: Channel
  readonly nodes: HillNode[]
  readonly people = new Map<string, { handHeld: HandHeld; at: string }>()
  private readonly seed: number
  private ids = 0

  constructor(private readonly options: HillValleyOptions) {
    this.seed = options.seed ?? 1
    this.clock = options.clock ?? virtualClock()
    this.channel = createChannel({
      clock: this.clock,
      random: seededRandom(this.seed),
      lossShare: (from, to) => (this.isNode(from) && this.isNode(to) ? (options.loss ?? 0) : 0),
      hears: (from, to) => this.hears(from, to),
    })
    this.nodes = options.nodes.map((call, index) => this.hill(call, index))
  }

  /** A person with a hand-held, within reach of one node. */
  person(call: string, at: string): HandHeld {
    const random = seededRandom(this.seed * 1000 + this.people.size)
    const port = simulatedRadio({ clock: this.clock, random, channel: this.channel, call })
    const one = handHeld({ port, clock: this.clock, random, call, nodeCall: at, path: [] })
    this.people.set(call, { handHeld: one, at })
    return one
  }

  node(call: string): HillNode {
    return this.nodes.find((one) => one.call === call)!
  }

  async run(minutes: number): Promise<void> {
    for (let minute = 0; minute < minutes; minute++)
      await this.clock.advanceToAsync(this.clock.monotonicMs() + 60_000)
  }

  /** The power fails, and comes back: what was in memory is gone. */
  restart(hill: HillNode, lifeMark?: LifeMark): void {
    hill.node.stop()
    hill.node = this.create(hill, this.nodes.indexOf(hill), lifeMark)
    hill.node.start()
  }

  private isNode(name: string): boolean {
    return this.options.nodes.includes(name)
  }

  private hears(from: string, to: string): boolean {
    const { nodes } = this.options
    const [a, b] = [nodes.indexOf(from), nodes.indexOf(to)]
    if (a >= 0 && b >= 0) return this.options.broker === undefined && Math.abs(a - b) === 1
    const person = this.people.get(a < 0 ? from : to)
    return a + b >= -1 && person?.at === (a < 0 ? to : from)
  }

  private hill(call: string, index: number): HillNode {
    const random = seededRandom(this.seed * 100 + index)
    const radio = simulatedRadio({ clock: this.clock, random, channel: this.channel, call })
    const { store } = openTestStore(':memory:', this.clock)
    const hill = { call, name: `${call}-5`, radio, store, events: [] as NodeEvent[] }
    const whole = { ...hill, node: this.create(hill, index) }
    whole.node.start()
    return whole
  }

  private create(
    { call, radio, store, events }: Omit<HillNode, 'node'>,
    index: number,
    lifeMark?: LifeMark,
  ): ServiceNode {
    const { nodes, toml = () => '', broker } = this.options
    const by = broker === undefined ? '' : 'by = ["broker"]\n'
    const neighbours = [nodes[index - 1], nodes[index + 1]].flatMap((one) =>
      one === undefined
        ? []
        : [`[[hills.neighbour]]\ncall = "${one}-5"\n${by}${secretOf(call, one)}`],
    )
    const config = parseConfig(
      `[station]\ncall = "${call}"\n[transmit]\nenabled = true\n[connected]\nenabled = true\nssid = 5\n[hills]\nenabled = true\n${toml(call)}\n${neighbours.join('\n')}`,
      'node.toml',
    )
    const options = hillOptions(config)
    const connected = connectedOptions(config)
    const carrier = broker && simCarrier(this.clock, broker, options)
    return createNode({
      ports: [radio],
      clock: this.clock,
      clockTrust: {
        confirmed: () => true,
        trusted: () => true,
        steps: { count: 0, lastMs: 0 },
        gpsSays: () => {},
        wasAhead: () => {},
      },
      random: seededRandom(this.seed * 10 + index),
      nextId: () => `${call} ${++this.ids}`,
      store,
      services: [
        ...[leaveService, collectService, mailService, boardService, postService],
        whereService({ positionAgeMaxMs: 3_600_000 }),
        bulletinsService({ positionAgeMaxMs: 3_600_000 }),
      ],
      options: nodeOptions(config),
      onEvent: (event) => events.push(event),
      connected: (parts) => connectedMode({ ...parts, options: connected }),
      hills: (needs) => hills({ ...needs, options, letters: connected.letters, lifeMark, carrier }),
    })
  }
}

/** Two neighbours share one that nobody else has. */
const secretOf = (one: string, other: string): string =>
  `secret = "shared by ${[one, other].sort().join(' and ')}"`

/** Texts that a hand-held showed. */
export const shownBy = (one: HandHeld): string[] => one.shown.map(({ text }) => text)
