import { type BrokerCarrier, brokerCarrier } from '../../../src/node/broker/brokerCarrier.js'
import { onlinePayload, topicsOf } from '../../../src/node/broker/topics.js'
import { hillSession } from '../../../src/node/hills/hillSession.js'
import { characters } from '../../../src/node/hills/ids.js'
import { seededRandom } from '../../../src/runtime/random.js'
import type { VirtualClock } from '../../../src/runtime/virtualClock.js'
import { PowerCut, SimHill } from '../hills/hillSim.js'
import type { SimBroker } from './simBroker.js'

export const prefix = 'ridgepost'
const everyMs = 60_000

/** A node's hand-over, its real ledger and database, over a simulated broker. */
export class BrokerHill {
  readonly hill: SimHill
  readonly reports: string[] = []
  readonly ends: string[] = []
  carrier!: BrokerCarrier
  private id = 0

  constructor(
    private readonly clock: VirtualClock,
    private readonly broker: SimBroker,
    readonly call: string,
    private readonly neighbours: readonly string[],
    folder = '',
    made?: SimHill,
  ) {
    this.hill =
      made ??
      new SimHill({
        ...{ clock, random: seededRandom(call.charCodeAt(1)), call, neighbours, folder },
        onReport: (to, text) => this.reports.push(`${to}: ${text}`),
      })
    this.begin()
  }

  /** The program begins: at first, and after a cut of the power. */
  begin(): void {
    const { clock, call, neighbours } = this
    const life = ++this.id
    const topics = topicsOf(prefix, call)
    const told = (online: boolean) => ({
      ...{ topic: topics.online, retain: true, expiryMs: 86_400_000 },
      payload: onlinePayload(call, online, ['message']),
    })
    const connection = this.broker.connection(call, () => this.carrier.topics, told(false))
    this.carrier = brokerCarrier({
      ...{ clock, broker: connection, prefix, own: call, neighbours, everyMs, turnOctets: 30_000 },
      timeLimitMs: 60_000,
      newSession: () => characters(16, call, life, ++this.id, clock.monotonicMs()),
    })
    const { carrier } = this
    const isNow = (): boolean => this.carrier === carrier
    carrier.start({
      sessionFor: (peer) =>
        neighbours.includes(peer) && isNow()
          ? hillSession(this.hill.exchangeWith(peer), (how) => this.ends.push(how))
          : undefined,
      reached: () => {},
    })
    connection.start({
      up: () => {
        connection.publish(told(true))
        carrier.up()
      },
      down: () => carrier.down(),
      message: (topic, payload) => {
        if (isNow()) this.guarded(() => carrier.message(topic, payload))
      },
    })
  }

  /** As the node does each minute. */
  look(): void {
    this.guarded(() => {
      this.hill.look()
      for (const peer of this.neighbours) {
        if (!this.carrier.reaches(peer) || !this.hill.hasFor(peer)) continue
        const session = hillSession(this.hill.exchangeWith(peer), (how) => this.ends.push(how))
        this.carrier.call(peer, session, () => {})
      }
    })
  }

  guarded(work: () => void): void {
    try {
      work()
    } catch (error) {
      if (!(error instanceof PowerCut)) throw error
      this.restart()
    }
  }

  /** After a cut of the power, or another database in the place of its own. */
  restart(): void {
    const { carrier } = this
    this.broker.lose(this.call)
    this.hill.begin()
    this.begin()
    // What is left of the old program does nothing more.
    carrier.stop()
  }

  collect(call: string): string[] {
    const texts: string[] = []
    this.guarded(() => this.hill.collect(call, (text) => texts.push(text)))
    return texts
  }
}

/** Minutes of all of them. */
export function minutes(clock: VirtualClock, hills: readonly BrokerHill[], count: number): void {
  for (let minute = 0; minute < count; minute++) {
    for (const hill of hills) hill.look()
    clock.advanceTo(clock.monotonicMs() + 60_000)
  }
}
