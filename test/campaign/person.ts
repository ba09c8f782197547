import { formatAcknowledgement, formatMessage, formatPosition } from '../../src/aprs/format.js'
import { parsePayload } from '../../src/aprs/parse.js'
import { type Address, formatAddress, parseAddress } from '../../src/ax25/address.js'
import { decodeFrame, encodeFrame, uiFrame } from '../../src/ax25/frame.js'
import type { Cancel, Clock } from '../../src/runtime/clock.js'
import type { Random } from '../../src/runtime/random.js'
import type { Channel } from '../../src/simulation/channel.js'
import { PlainRadio } from './plainRadio.js'

/** How somebody's radio, and its owner, behave. */
export interface Manners {
  /** waits between transmissions of one message, ms */
  readonly gapsMs: readonly number[]
  /** sends all its copies, acknowledged or not */
  readonly stubborn: boolean
  readonly acknowledges: boolean
  /** asks the same again, as a new message, when no answer has come after so long */
  readonly asksAgainMs: number | undefined
  readonly numbered: boolean
  /** its acknowledgements come inside its own numbers, as the standard's reply-acknowledgements */
  readonly replyAcknowledges: boolean
  readonly careless: boolean
}

/** Common among hand-helds: five transmissions, some twelve seconds apart or more (common practice, no source). */
const usualGapsMs = [12_000, 15_000, 20_000, 30_000]
export const polite: Manners = {
  gapsMs: usualGapsMs,
  stubborn: false,
  acknowledges: true,
  asksAgainMs: undefined,
  numbered: true,
  replyAcknowledges: false,
  careless: false,
}

/** Of the people on the channel, in turn. */
export const mannersOf: readonly Manners[] = [
  polite,
  polite,
  // impatient
  { ...polite, gapsMs: [4_000, 4_000, 4_000, 4_000, 4_000, 4_000], asksAgainMs: 25_000 },
  { ...polite, stubborn: true },
  { ...polite, acknowledges: false },
  { ...polite, numbered: false, gapsMs: [] },
  { ...polite, replyAcknowledges: true },
  { ...polite, careless: true },
]

export interface Message {
  readonly text: string
  readonly number: string | undefined
  state: 'sending' | 'acknowledged' | 'rejected' | 'given up'
}

export interface PersonOptions {
  readonly clock: Clock
  readonly random: Random
  readonly channel: Channel
  readonly call: string
  readonly nodeCall: string
  readonly path: readonly string[]
  readonly manners: Manners
}

/** Somebody with a hand-held. */
export class Person {
  readonly call: string
  /** texts that came, with their numbers, each once */
  readonly shown = new Map<string, string>()
  path: readonly string[]
  private readonly radio: PlainRadio
  private readonly open = new Map<Message, Cancel>()
  private readonly source: Address
  private readonly heading: Uint8Array
  private lastNumberHeard = ''
  private count = 0

  constructor(private readonly options: PersonOptions) {
    const { call, path, manners } = options
    this.call = call
    this.path = path
    this.source = addressOf(call)
    this.heading = Buffer.from(`:${call.padEnd(9)}:`)
    this.radio = new PlainRadio({
      ...options,
      careless: manners.careless,
      onFrame: (octets) => this.hear(octets),
    })
  }

  get idle(): boolean {
    return this.open.size === 0
  }

  /** whether something with this in it has come */
  hasShown(part: string): boolean {
    for (const text of this.shown.values()) if (text.includes(part)) return true
    return false
  }

  ask(text: string, again = false): Message {
    const { manners, clock } = this.options
    const number = manners.numbered ? String(++this.count) : undefined
    const message: Message = { text, number, state: 'sending' }
    this.transmit(message, 0)
    const { asksAgainMs } = manners
    if (asksAgainMs !== undefined && !again)
      clock.at(clock.monotonicMs() + asksAgainMs, () => {
        if (!this.hasShown(text.split(' ')[1] ?? text)) this.ask(text, true)
      })
    return message
  }

  sendPosition(latitudeDeg: number, longitudeDeg: number, comment = ''): void {
    const symbol = { table: '/', code: '[' }
    this.put(formatPosition({ latitudeDeg, longitudeDeg, symbol, messaging: true, comment }))
  }

  sendPayload(payload: Uint8Array): void {
    this.put(payload)
  }

  private transmit(message: Message, sentBefore: number): void {
    const { manners, clock, random, nodeCall } = this.options
    const { text, number } = message
    const extra = manners.replyAcknowledges ? { replyAcknowledges: this.lastNumberHeard } : {}
    this.put(
      formatMessage({
        addressee: nodeCall,
        text,
        ...(number !== undefined && { number, ...extra }),
      }),
    )
    const gapMs = manners.gapsMs[sentBefore]
    if (gapMs === undefined && number === undefined) return
    const waitMs = (gapMs ?? 30_000) * (0.9 + 0.2 * random())
    const cancel = clock.at(clock.monotonicMs() + waitMs, () => {
      if (gapMs !== undefined) this.transmit(message, sentBefore + 1)
      else this.settle(message, 'given up')
    })
    this.open.set(message, cancel)
  }

  private settle(message: Message, state: Message['state']): void {
    if (message.state === 'sending') message.state = state
    if (this.options.manners.stubborn && state !== 'given up') return
    this.open.get(message)?.()
    this.open.delete(message)
  }

  private hear(octets: Uint8Array): void {
    // Most of what is on the air is not for it: looked at as octets, that costs little.
    if (!this.isForMe(octets)) return
    const decoded = decodeFrame(octets)
    if (!decoded.ok || formatAddress(decoded.frame.source) !== this.options.nodeCall) return
    const payload = parsePayload(decoded.frame.payload, '')
    if (!('addressee' in payload) || payload.addressee !== this.call) return
    if (payload.kind === 'message') this.take(payload.text, payload.number, payload.numberAsSent)
    else if (payload.kind === 'acknowledgement' || payload.kind === 'rejection') {
      const state = payload.kind === 'rejection' ? 'rejected' : 'acknowledged'
      for (const message of [...this.open.keys()])
        if (message.number === payload.number) this.settle(message, state)
    }
  }

  private isForMe(octets: Uint8Array): boolean {
    const heading = this.heading
    for (let at = octets.indexOf(heading[0]!); at >= 0; at = octets.indexOf(heading[0]!, at + 1))
      if (heading.every((octet, index) => octets[at + index] === octet)) return true
    return false
  }

  private take(text: string, number: string | undefined, numberAsSent: string | undefined): void {
    const { manners, nodeCall } = this.options
    if (number !== undefined) {
      this.lastNumberHeard = number
      if (manners.acknowledges)
        this.put(formatAcknowledgement({ addressee: nodeCall, number: numberAsSent ?? number }))
    }
    this.shown.set(`${number} ${text}`, text)
  }

  private put(payload: Uint8Array): void {
    const destination = addressOf('APZ001')
    const path = this.path.map(addressOf)
    this.radio.send(encodeFrame(uiFrame({ source: this.source, destination, path, payload })))
  }
}

export function addressOf(text: string): Address {
  const address = parseAddress(text)
  if (!address.ok) throw new RangeError(address.reason)
  return address.value
}
