import { readFileSync } from 'node:fs'
import { connect as connectPlain, isIP } from 'node:net'
import type { Duplex } from 'node:stream'
import { connect as connectTls } from 'node:tls'
import type { IClientOptions, IClientPublishOptions, MqttClient } from 'mqtt'
// Not the whole package: what connects through WebSockets and proxies is half of its memory.
import clientModule from 'mqtt/lib/client'
import { createReopening } from '../devices/reopening.js'
import type { Broker, BrokerListener, BrokerMessage } from '../node/broker/broker.js'
import type { Clock } from '../runtime/clock.js'
import { errorText } from '../runtime/errorText.js'
import { mqttSizeGuard } from './mqttSizeGuard.js'

export interface MqttOptions {
  readonly host: string
  readonly port: number
  readonly tls: boolean
  /** '' for the system's authorities */
  readonly caFile: string
  /** '' for no login */
  readonly user: string
  readonly passwordFile: string
  /** names this client at the broker: two with the same put each other out */
  readonly clientId: string
  readonly keepAliveS: number
  /** without an answer of the broker a try is given up; it keeps what is under way to us no longer when we are gone */
  readonly timeLimitMs: number
  /** between two tries: the first wait, doubled up to the longest */
  readonly retryMs: number
  readonly retryMaxMs: number
}

export interface MqttParts {
  readonly clock: Clock
  readonly options: MqttOptions
  readonly topics: readonly string[]
  /** what the broker tells the others when we are gone without a word */
  readonly will: BrokerMessage
}

type ClientClass = typeof clientModule.default
/** A CommonJS module, whose default some loaders hand over as it is, and others within its exports. */
const Client: ClientClass =
  typeof clientModule === 'function' ? (clientModule as ClientClass) : clientModule.default

/** The largest packet that is taken; a larger one ends the connection before it is read. */
const packetOctetsMax = 65_536
/** The others are told that we are gone after so long: a link that comes back at once is no news. */
const willDelayS = 30
/** Of what comes in so much is under way. */
const receiveMaximum = 50
/** The last word has so long to get out. */
const lastWordMs = 2_000

/** A connection to an MQTT 5 broker (OASIS, 2019), made anew with growing waits whenever it is lost. */
export function mqttBroker(parts: MqttParts): Broker {
  return new RunningBroker(parts)
}

class RunningBroker implements Broker {
  private client: MqttClient | undefined
  private listener: BrokerListener | undefined
  private isUp = false
  private trouble: string | undefined
  private readonly counts = { sentCount: 0, heardCount: 0, upCount: 0 }
  private readonly reopening
  /** told what became of a message: the library tells nothing of those that were under way when a connection ended */
  private readonly unconfirmed = new Set<(isTaken: boolean) => void>()

  constructor(private readonly parts: MqttParts) {
    const { retryMs: first, retryMaxMs: longest } = parts.options
    this.reopening = createReopening(parts.clock, { first, longest }, () => this.open())
  }

  get state() {
    return { isUp: this.isUp, trouble: this.isUp ? undefined : this.trouble, ...this.counts }
  }

  start(listener: BrokerListener): void {
    this.listener = listener
    this.open()
  }

  publish(message: BrokerMessage, onEnd?: (isTaken: boolean) => void): boolean {
    if (!this.isUp || this.client === undefined) return false
    this.counts.sentCount++
    const tell = (isTaken: boolean): void => {
      if (this.unconfirmed.delete(tell)) onEnd?.(isTaken)
    }
    this.unconfirmed.add(tell)
    this.client.publish(
      message.topic,
      message.payload as Buffer,
      publishOptions(message),
      (error) => tell(error === undefined || error === null),
    )
    return true
  }

  stop(last?: BrokerMessage): void {
    this.reopening.cancel()
    this.listener = undefined
    const { client } = this
    if (client === undefined) return
    this.client = undefined
    if (last === undefined || !this.isUp) {
      end(client)
      return
    }
    this.isUp = false
    const { clock } = this.parts
    const cancel = clock.at(clock.monotonicMs() + lastWordMs, () => end(client))
    client.on('close', cancel)
    // In order, so that the broker does not tell the will as well.
    client.publish(last.topic, last.payload as Buffer, publishOptions(last), () =>
      client.end(false),
    )
  }

  private open(): void {
    let client: MqttClient
    let reason: string | undefined
    const noteReason = (error: Error): void => {
      reason ??= reasonOf(error)
    }
    try {
      client = new Client(() => openStream(this.parts.options, noteReason), this.clientOptions())
    } catch (error) {
      this.lost(undefined, errorText(error))
      return
    }
    this.client = client
    client.on('error', (error) => {
      noteReason(error)
      // Some leave the connection as it is: nothing more is to be expected of it.
      this.lost(client, reason ?? errorText(error))
    })
    client.on('disconnect', ({ reasonCode }) => {
      reason ??= reasonWords(reasonCode)
    })
    client.on('close', () =>
      this.lost(client, reason ?? 'the broker closed the connection, or cannot be reached'),
    )
    client.on('connect', () => this.subscribe(client))
    client.on('message', (topic, payload) => {
      if (client !== this.client) return
      this.counts.heardCount++
      this.listener?.message(topic, payload)
    })
  }

  private subscribe(client: MqttClient): void {
    const { topics } = this.parts
    if (topics.length === 0) {
      this.reached(client)
      return
    }
    client.subscribe([...topics], { qos: 1 }, (error, granted) => {
      const refused = granted?.find(({ qos }) => qos >= 128)
      if (refused !== undefined)
        this.lost(client, `the broker does not let us read ${refused.topic}`)
      else if (error) this.lost(client, reasonOf(error))
      else this.reached(client)
    })
  }

  private reached(client: MqttClient): void {
    if (client !== this.client || this.isUp) return
    this.isUp = true
    this.trouble = undefined
    this.counts.upCount++
    this.reopening.sound()
    this.listener?.up()
  }

  /** @param client that lost it; one that has been replaced says nothing more */
  private lost(client: MqttClient | undefined, reason: string): void {
    if (client !== this.client || this.listener === undefined) return
    this.client = undefined
    this.isUp = false
    this.trouble = reason
    if (client !== undefined) end(client)
    for (const tell of [...this.unconfirmed]) tell(false)
    this.reopening.later()
    this.listener.down(reason)
  }

  private clientOptions(): IClientOptions {
    const { options, will } = this.parts
    const keptS = Math.ceil(options.timeLimitMs / 1000)
    return {
      ...{ protocolVersion: 5, clientId: options.clientId, clean: false, ...loginOf(options) },
      ...{ keepalive: options.keepAliveS, connectTimeout: options.timeLimitMs, reconnectPeriod: 0 },
      ...{ resubscribe: false, queueQoSZero: false, timerVariant: 'native' },
      properties: {
        ...{ sessionExpiryInterval: keptS, maximumPacketSize: packetOctetsMax, receiveMaximum },
      },
      will: {
        ...{ topic: will.topic, payload: will.payload as Buffer, qos: 1, retain: will.retain },
        properties: {
          willDelayInterval: Math.min(willDelayS, keptS),
          ...publishOptions(will).properties,
        },
      },
    }
  }
}

const publishOptions = ({ retain, expiryMs }: BrokerMessage): IClientPublishOptions => ({
  ...{ qos: 1, retain, properties: { messageExpiryInterval: Math.ceil(expiryMs / 1000) } },
})

/** What is still to come of it is nobody's affair. */
function end(client: MqttClient): void {
  client.removeAllListeners()
  client.on('error', () => {})
  client.end(true)
}

/** @param onError what the library keeps to itself */
function openStream(
  { host, port, tls, caFile }: MqttOptions,
  onError: (error: Error) => void,
): Duplex {
  const stream = tls
    ? connectTls({
        ...{ host, port, minVersion: 'TLSv1.2' },
        ...(isIP(host) === 0 && { servername: host }),
        ...(caFile !== '' && { ca: readFileSync(caFile) }),
      })
    : connectPlain({ host, port })
  stream.once('error', onError)
  const guard = mqttSizeGuard(packetOctetsMax)
  // Before the library, which would gather a packet of 256 MB in memory first.
  stream.on('data', (chunk: Buffer) => {
    if (!guard.push(chunk)) stream.destroy(new Error('the broker sent a packet that is too large'))
  })
  return stream
}

/** Read for each try: an operator who mends the file need not start the station anew. */
function loginOf({ user, passwordFile }: MqttOptions): { username?: string; password?: string } {
  if (user === '') return {}
  const [password = ''] = readFileSync(passwordFile, 'utf8').split(/\r?\n/)
  return { username: user, password }
}

/** Reason codes of MQTT 5 (section 2.4), as far as an operator can do something about them. */
const codeWords: Readonly<Record<number, string>> = {
  132: 'the broker does not speak MQTT 5',
  133: 'the broker does not take our name',
  134: 'the broker refuses the login',
  135: 'the broker refuses the login',
  136: 'the broker is not available',
  137: 'the broker is busy',
  138: 'the broker has banned us',
  139: 'the broker shuts down',
  141: 'the broker heard nothing of us for too long',
  142: 'another client has our name at the broker: two nodes with the same call?',
  149: 'a packet was too large for the broker',
  151: 'the broker lets us say no more: a quota',
  155: 'the broker does not take messages that are confirmed (QoS 1)',
}

const reasonWords = (code: number | undefined): string | undefined =>
  code === undefined ? undefined : codeWords[code]

function reasonOf(error: unknown): string {
  const { code } = error as { code?: unknown }
  const isTls = typeof code === 'string' && /CERT|TLS|SSL|ALTNAME|VERIFY|ISSUER/.test(code)
  if (isTls) return 'TLS with the broker failed: look at its certificate, broker.tls and caFile'
  return (typeof code === 'number' ? codeWords[code] : undefined) ?? errorText(error)
}
