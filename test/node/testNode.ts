import { decodeFrame, encodeFrame } from '../../src/ax25/frame.js'
import { formatLine, parseLine } from '../../src/ax25/line.js'
import { createNode } from '../../src/node/node.js'
import type { NodeParts, ServiceNode } from '../../src/node/serviceNode.js'
import type {
  Airtime,
  HeardFrame,
  Port,
  PortState,
  TransmitOutcome,
  TransmitRequest,
} from '../../src/radio/port.js'
import type { ClockTrust } from '../../src/runtime/clockTrust.js'
import { seededRandom } from '../../src/runtime/random.js'
import { type VirtualClock, virtualClock } from '../../src/runtime/virtualClock.js'
import type { Service } from '../../src/services/service.js'
import { defaultNodeOptions } from '../../src/setup/defaultOptions.js'
import type { NodeEvent } from '../../src/store/events.js'
import type { Store } from '../../src/store/store.js'
import { unlimitedAirtime } from '../radio/fixtures.js'
import { openTestStore } from '../store/openTestStore.js'
import { trustedClock } from './trustedClock.js'

/** A radio whose channel is always free: sends in order of priority, one frame after another. */
export class TestPort implements Port {
  readonly name = 'test'
  /** line notation, with the time in seconds at which it was sent */
  readonly sent: { atS: number; line: string; request: TransmitRequest }[] = []
  /** set to hold or refuse what comes */
  mode: 'send' | 'refuse' | 'swallow' = 'send'
  readonly swallowed: TransmitRequest[] = []
  readonly #frameListeners: ((frame: HeardFrame) => void)[] = []
  readonly #outcomeListeners: ((outcome: TransmitOutcome) => void)[] = []

  constructor(
    private readonly clock: VirtualClock,
    readonly radio = 0,
  ) {}

  send(request: TransmitRequest): void {
    const { id } = request
    if (this.mode === 'swallow') {
      this.swallowed.push(request)
      return
    }
    this.clock.at(this.clock.monotonicMs() + 500, () => {
      const atMs = this.clock.monotonicMs()
      if (this.mode === 'refuse') {
        this.tell({ id, kind: 'refused', atMs, reason: 'transmit.enabled is off' })
        return
      }
      const decoded = decodeFrame(request.octets, { strict: true })
      if (!decoded.ok) throw new Error(decoded.reason)
      this.sent.push({ atS: atMs / 1000, line: formatLine(decoded.frame), request })
      this.tell({ id, kind: 'sent', atMs, airtimeMs: 400 })
    })
  }

  /** What was swallowed waits for ever, as in a radio that is held. */
  withdraw(id: string): void {
    if (this.mode !== 'swallow') return
    this.tell({ id, kind: 'refused', atMs: this.clock.monotonicMs(), reason: 'it was taken back' })
  }

  airtime(): Airtime {
    return unlimitedAirtime(this.clock.monotonicMs())
  }

  hear(octets: Uint8Array, repairedBits = 0, quality?: HeardFrame['quality']): void {
    const heardAtMs = this.clock.monotonicMs()
    const heardAtWallMs = this.clock.wallMs()
    const { radio } = this
    const frame = {
      ...{ octets, radio, heardAtMs, heardAtWallMs, repairedBits, quality },
      detector: 'test',
    }
    for (const listener of this.#frameListeners) listener(frame)
  }

  onFrame(listener: (frame: HeardFrame) => void): void {
    this.#frameListeners.push(listener)
  }

  onOutcome(listener: (outcome: TransmitOutcome) => void): void {
    this.#outcomeListeners.push(listener)
  }

  state(): PortState {
    return {
      receiving: true,
      channelBusy: false,
      keyed: false,
      queuedCount: 0,
      dutyUsed: 0.05,
      transmitBlockedBy: this.mode === 'refuse' ? 'transmit.enabled is off' : undefined,
    }
  }

  async close(): Promise<void> {}

  tell(outcome: TransmitOutcome): void {
    for (const listener of this.#outcomeListeners) listener(outcome)
  }
}

export const echoService: Service = {
  keyword: 'echo',
  summary: 'says it again',
  usage: 'echo TEXT',
  takes: 'text',
  messagesMax: () => 5,
  answer: (question) => (question.rest === '' ? 'nothing' : question.rest.split('/')),
}

export interface TestNode {
  readonly node: ServiceNode
  readonly port: TestPort
  readonly clock: VirtualClock
  readonly store: Store
  readonly events: NodeEvent[]
  /** line notation without the destination: 'N0CALL-7:help{1' is a message to the node */
  hear(line: string, repairedBits?: number): void
  ask(from: string, text: string, path?: string): void
  /** lets promises settle and the clock run */
  wait(seconds: number): Promise<void>
  /** payloads sent since the last call, without headers */
  sentTexts(): string[]
}

export interface TestNodeOptions {
  readonly options?: Parameters<typeof defaultNodeOptions>[0]
  readonly services?: readonly Service[]
  readonly store?: Store
  readonly clock?: VirtualClock
  /** default: a clock that is trusted from the start */
  readonly clockTrust?: ClockTrust
  readonly bootId?: string
  readonly file?: string
  /** of its randomness; 1 when left out */
  readonly seed?: number
  readonly onEmergency?: NodeParts['onEmergency']
  readonly digipeater?: NodeParts['digipeater']
  readonly withoutPast?: boolean
  readonly connected?: NodeParts['connected']
  readonly email?: NodeParts['email']
  readonly event?: NodeParts['event']
}

export function testNode(given: TestNodeOptions = {}): TestNode {
  const clock = given.clock ?? virtualClock()
  const store = given.store ?? openTestStore(given.file, clock).store
  const port = new TestPort(clock)
  const events: NodeEvent[] = []
  let id = 0
  const node = createNode({
    ports: [port],
    clock,
    clockTrust: given.clockTrust ?? trustedClock,
    bootId: given.bootId,
    random: seededRandom(given.seed ?? 1),
    nextId: () => `r${given.seed ?? 1}-${++id}`,
    store,
    services: given.services ?? [echoService],
    options: defaultNodeOptions({ call: 'N0DE-10', ...given.options }),
    onEvent: (event) => events.push(event),
    ...(given.onEmergency && { onEmergency: given.onEmergency }),
    digipeater: given.digipeater,
    connected: given.connected,
    email: given.email,
    event: given.event,
  })
  node.start({ withoutPast: given.withoutPast ?? false })
  let told = 0
  const hear = (line: string, repairedBits = 0): void => {
    const parsed = parseLine(line)
    if (!parsed.ok) throw new Error(`${line}: ${parsed.reason}`)
    port.hear(encodeFrame(parsed.frame), repairedBits)
  }
  return {
    node,
    port,
    clock,
    store,
    events,
    hear,
    ask: (from, text, path = '') => hear(`${from}>APZ001${path}::${'N0DE-10'.padEnd(9)}:${text}`),
    wait: (seconds) => clock.advanceToAsync(clock.monotonicMs() + seconds * 1000),
    sentTexts() {
      const texts = port.sent.slice(told).map(({ line }) => line.slice(line.indexOf(':') + 1))
      told = port.sent.length
      return texts
    },
  }
}
