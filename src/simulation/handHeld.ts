import { formatAcknowledgement, formatMessage, formatPosition } from '../aprs/format.js'
import { parsePayload } from '../aprs/parse.js'
import { type Address, formatAddress, parseAddress } from '../ax25/address.js'
import { decodeFrame, encodeFrame, uiFrame } from '../ax25/frame.js'
import type { HeardFrame, Port, Priority } from '../radio/port.js'
import type { Cancel, Clock } from '../runtime/clock.js'
import type { Random } from '../runtime/random.js'

/** A message that a hand-held sends, and what it knows of its fate. */
export interface SentMessage {
  readonly text: string
  readonly number: string
  readonly startedMs: number
  transmissions: number
  /** 'given up': nobody acknowledged it */
  state: 'sending' | 'acknowledged' | 'rejected' | 'given up'
}

/** A message that a hand-held showed to its owner: once for each number. */
export interface ShownMessage {
  readonly text: string
  readonly number: string | undefined
  readonly atMs: number
  /** how often it came in all */
  count: number
}

/** A radio as people carry it: repeats what is not acknowledged, acknowledges what it gets, shows it once. */
export interface HandHeld {
  readonly call: string
  readonly sent: readonly SentMessage[]
  readonly shown: readonly ShownMessage[]
  /** not repeating anything */
  readonly idle: boolean
  send(text: string): SentMessage
  sendPosition(latitudeDeg: number, longitudeDeg: number): void
  /** Sends any information field, once. */
  sendPayload(payload: Uint8Array): void
}

export interface HandHeldOptions {
  readonly port: Port
  readonly clock: Clock
  readonly random: Random
  readonly call: string
  readonly nodeCall: string
  readonly path: readonly string[]
  /** waits between its repetitions */
  readonly gapsMs?: readonly number[]
  readonly onShown?: (message: ShownMessage) => void
}

/** Common among hand-helds: five transmissions, some twelve seconds apart or more (common practice, no source). */
const gapsMsDefault = [12_000, 15_000, 20_000, 30_000, 30_000]
const sendWithinMs = 60_000

export function handHeld(options: HandHeldOptions): HandHeld {
  const { port, clock, random, call, nodeCall, gapsMs = gapsMsDefault } = options
  const sent: SentMessage[] = []
  const shown: ShownMessage[] = []
  const timers = new Map<SentMessage, Cancel>()
  const source = addressOf(call)
  const path = options.path.map(addressOf)
  let requestCount = 0

  const transmit = (payload: Uint8Array, priority: Priority): void => {
    port.send({
      id: `${call}/${++requestCount}`,
      octets: encodeFrame(uiFrame({ source, destination: addressOf('APZ001'), path, payload })),
      priority,
      notAfterMs: clock.monotonicMs() + sendWithinMs,
      origin: 'node',
    })
  }

  const sendOnce = (message: SentMessage): void => {
    const gapMs = gapsMs[message.transmissions]
    message.transmissions++
    const { text, number } = message
    transmit(formatMessage({ addressee: nodeCall, text, number }), 'answer')
    const waitMs = (gapMs ?? gapsMs.at(-1)!) * (0.9 + 0.2 * random())
    const timer = clock.at(clock.monotonicMs() + waitMs, () => {
      if (gapMs !== undefined) sendOnce(message)
      else settle(message, 'given up')
    })
    timers.set(message, timer)
  }

  const settle = (message: SentMessage, state: SentMessage['state']): void => {
    timers.get(message)?.()
    timers.delete(message)
    message.state = state
  }

  const show = (text: string, number: string | undefined): void => {
    const known = shown.find((one) => one.number === number && one.text === text)
    if (known !== undefined) {
      known.count++
      return
    }
    const message = { text, number, atMs: clock.monotonicMs(), count: 1 }
    shown.push(message)
    options.onShown?.(message)
  }

  port.onFrame((heard: HeardFrame) => {
    const decoded = decodeFrame(heard.octets, { strict: true })
    if (!decoded.ok || formatAddress(decoded.frame.source) !== nodeCall) return
    const payload = parsePayload(decoded.frame.payload, '')
    if (!('addressee' in payload) || payload.addressee !== call) return
    if (payload.kind === 'message') {
      const { number, numberAsSent } = payload
      if (number !== undefined) {
        const acknowledged = { addressee: nodeCall, number: numberAsSent ?? number }
        transmit(formatAcknowledgement(acknowledged), 'acknowledgement')
      }
      show(payload.text, number)
    } else if (payload.kind === 'acknowledgement' || payload.kind === 'rejection') {
      const message = sent.find((one) => one.number === payload.number && one.state === 'sending')
      const state = payload.kind === 'rejection' ? 'rejected' : 'acknowledged'
      if (message !== undefined) settle(message, state)
    }
  })

  return {
    call,
    sent,
    shown,
    get idle() {
      return timers.size === 0
    },
    send(text) {
      const number = String(sent.length + 1)
      const startedMs = clock.monotonicMs()
      const message: SentMessage = { text, number, startedMs, transmissions: 0, state: 'sending' }
      sent.push(message)
      sendOnce(message)
      return message
    },
    sendPosition(latitudeDeg, longitudeDeg) {
      const symbol = { table: '/', code: '[' }
      transmit(formatPosition({ latitudeDeg, longitudeDeg, symbol, messaging: true }), 'beacon')
    },
    sendPayload: (payload) => transmit(payload, 'beacon'),
  }
}

function addressOf(text: string): Address {
  const address = parseAddress(text)
  if (!address.ok) throw new RangeError(address.reason)
  return address.value
}
