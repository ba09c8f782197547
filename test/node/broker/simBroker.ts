import type { Broker, BrokerListener, BrokerMessage } from '../../../src/node/broker/broker.js'
import type { VirtualClock } from '../../../src/runtime/virtualClock.js'

/**
 * What happens to a connection at a step: a publish is lost, or taken and its confirmation lost; a delivery is lost on the way and
 * comes again, or arrives and comes again all the same; the broker ends and has forgotten all but what it retains.
 */
export const cutKinds = ['before', 'after', 'forgets'] as const
export type CutKind = (typeof cutKinds)[number]

interface Client {
  readonly id: string
  readonly topics: readonly string[]
  readonly listener: BrokerListener
  isUp: boolean
  /** for it, in order; kept while it is away */
  readonly inbox: { readonly message: BrokerMessage; readonly untilMs: number }[]
  readonly will: BrokerMessage | undefined
}

/** A broker as MQTT 5 describes it, QoS 1: hands on in order, keeps for who is away, repeats what was not confirmed. */
export class SimBroker {
  readonly retained = new Map<string, BrokerMessage>()
  messages = 0
  octets = 0
  /** the connection of whoever is concerned breaks at the step after so many */
  cut: { after: number; kind: CutKind } | undefined
  onCut: () => void = () => {}
  steps = 0
  private readonly clients = new Map<string, Client>()
  private readonly work: (() => void)[] = []

  constructor(
    private readonly clock: VirtualClock,
    private readonly reconnectMs = 5_000,
    private readonly delayMs = 20,
  ) {}

  /** @param topics read when it is started */
  connection(id: string, topics: () => readonly string[], will?: BrokerMessage): Broker {
    let client: Client | undefined
    const counts = { sentCount: 0, heardCount: 0, upCount: 0 }
    const mine = (): Client | undefined =>
      client !== undefined && this.clients.get(id) === client ? client : undefined
    return {
      start: (listener) => {
        client = { ...{ id, topics: topics(), listener, isUp: false, inbox: [], will } }
        this.clients.set(id, client)
        this.reconnect(client)
      },
      publish: (message, onEnd) => {
        const from = mine()
        if (from?.isUp !== true) return false
        counts.sentCount++
        this.soon(() => this.takePublish(from, message, onEnd))
        return true
      },
      stop: (last) => {
        const from = mine()
        if (from !== undefined && last !== undefined && from.isUp) this.spread(last)
        this.clients.delete(id)
      },
      get state() {
        return { isUp: mine()?.isUp === true, trouble: undefined, ...counts }
      },
    }
  }

  /** The power of a client fails: the broker tells its will. */
  lose(id: string): void {
    const client = this.clients.get(id)
    this.clients.delete(id)
    if (client?.will !== undefined) this.spread(client.will)
  }

  /** Anybody may say anything where the broker lets him. */
  forge(topic: string, payload: string | Uint8Array): void {
    const octets = typeof payload === 'string' ? new TextEncoder().encode(payload) : payload
    this.spread({ topic, payload: octets, retain: false, expiryMs: 60_000 })
  }

  private soon(run: () => void): void {
    this.work.push(run)
    if (this.work.length === 1) this.next()
  }

  private next(): void {
    this.clock.at(this.clock.monotonicMs() + this.delayMs, () => {
      this.work[0]?.()
      this.work.shift()
      if (this.work.length > 0) this.next()
    })
  }

  private takePublish(from: Client, message: BrokerMessage, onEnd?: (ok: boolean) => void): void {
    const kind = this.cutNow()
    if (!from.isUp || kind === 'before' || kind === 'forgets') {
      onEnd?.(false)
      if (kind !== undefined) this.breakOff(from, kind)
      return
    }
    this.spread(message)
    if (kind === 'after') {
      onEnd?.(false)
      this.breakOff(from, kind)
    } else onEnd?.(true)
  }

  private spread(message: BrokerMessage): void {
    this.messages++
    this.octets += message.topic.length + message.payload.length
    if (message.retain) this.retained.set(message.topic, message)
    const untilMs = this.clock.monotonicMs() + message.expiryMs
    for (const client of this.clients.values())
      if (client.topics.includes(message.topic)) {
        client.inbox.push({ message, untilMs })
        this.soon(() => this.deliver(client))
      }
  }

  private deliver(client: Client): void {
    const [first] = client.inbox
    if (first === undefined || !client.isUp) return
    const kind = this.cutNow()
    if (kind === 'before' || kind === 'forgets') {
      this.breakOff(client, kind)
      return
    }
    if (kind === 'after') this.breakOff(client, kind)
    else client.inbox.shift()
    if (first.untilMs > this.clock.monotonicMs())
      client.listener.message(first.message.topic, first.message.payload)
  }

  private cutNow(): CutKind | undefined {
    this.steps++
    const { cut } = this
    if (cut === undefined || cut.after-- > 0) return undefined
    this.cut = undefined
    this.onCut()
    return cut.kind
  }

  private breakOff(client: Client, kind: CutKind): void {
    client.isUp = false
    if (kind === 'forgets') for (const one of this.clients.values()) one.inbox.length = 0
    client.listener.down('cut')
    this.clock.at(this.clock.monotonicMs() + this.reconnectMs, () => this.reconnect(client))
  }

  private reconnect(client: Client): void {
    if (this.clients.get(client.id) !== client) return
    client.isUp = true
    for (const topic of client.topics) {
      const message = this.retained.get(topic)
      if (message !== undefined) client.inbox.push({ message, untilMs: Number.POSITIVE_INFINITY })
    }
    client.listener.up()
    for (const _ of client.inbox) this.soon(() => this.deliver(client))
  }
}
