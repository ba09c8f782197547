import { formatAcknowledgement, formatMessage } from '../../src/aprs/format.js'
import { parsePayload } from '../../src/aprs/parse.js'
import { type Address, parseAddress } from '../../src/ax25/address.js'
import { decodeFrame, encodeFrame, uiFrame } from '../../src/ax25/frame.js'
import { createNode } from '../../src/node/node.js'
import type { NodeState } from '../../src/node/serviceNode.js'
import type { HeardFrame, Port } from '../../src/radio/port.js'
import type { Cancel } from '../../src/runtime/clock.js'
import { type Random, seededRandom } from '../../src/runtime/random.js'
import { type VirtualClock, virtualClock } from '../../src/runtime/virtualClock.js'
import type { Service } from '../../src/services/service.js'
import { defaultNodeOptions } from '../../src/setup/defaultOptions.js'
import { type Channel, createChannel } from '../../src/simulation/channel.js'
import { simulatedRadio } from '../../src/simulation/simulatedRadio.js'
import type { NodeEvent } from '../../src/store/events.js'
import { openStore } from '../../src/store/store.js'

export interface AskersOptions {
  readonly seed: number
  readonly askerCount: number
  /** they begin to ask at random moments of this stretch, ms */
  readonly withinMs: number
  /** from the first question to the end, ms */
  readonly lastsMs: number
  /** share of a rolling 6 minutes that the node may send */
  readonly dutyShare?: number
  /** messages that an answer takes, of 60 characters each; 1 where absent */
  readonly messages?: (random: Random) => number
  /** questions of one asker; the second half a minute or so after the first */
  readonly questionsEach?: (random: Random) => number
  /** share of the askers whose radios acknowledge what they get; 0 where absent */
  readonly acknowledging?: number
  /** radios send a question again until it is acknowledged or rejected, as hand-helds do */
  readonly repeating?: boolean
  /** chance that a frame is lost, each way; what the node sent counts all the same */
  readonly lossShare?: number
  /** what else happens, on the clock of the run */
  readonly disturb?: (world: World) => void
  readonly nodeOptions?: Parameters<typeof defaultNodeOptions>[0]
}

/** What a disturbance may reach. */
export interface World {
  readonly clock: VirtualClock
  readonly channel: Channel
  /** the node's radio, with what others send through it */
  readonly port: Port
  readonly random: Random
}

/** A question as its asker sees it. */
export interface Asking {
  readonly call: string
  readonly number: string
  readonly askedMs: number
  /** of its answer; 1 where the operator lets it be shortened and its end says so */
  messageCount: number
  /** transmissions of the question */
  sentCount: number
  acknowledgedMs?: number
  rejectedMs?: number
  /** by part: when it came first, and how often in all */
  readonly parts: Map<number, { readonly atMs: number; count: number }>
}

/** Frames that the node sent, as the radio's side sees them. */
export interface FrameCounts {
  acknowledgements: number
  rejections: number
  /** first copies of answers that became whole, and of those that did not */
  firstCopies: number
  unfinished: number
  repeats: number
  refusals: number
  others: number
}

export interface AskersResult {
  readonly askings: readonly Asking[]
  readonly frames: Readonly<FrameCounts>
  readonly frameCount: number
  /** share of the frames that are acknowledgements and first copies of whole answers */
  readonly usefulShare: number
  readonly wholeCount: number
  /**
   * Acknowledged, and then neither answered whole while that was of use, nor refused (by number, or in words after its
   * acknowledgement), nor replaced by a newer question of the same station.
   */
  readonly left: readonly Asking[]
  readonly keyedMs: number
  readonly events: readonly NodeEvent[]
  readonly state: NodeState
}

export const nodeCall = 'Q0HUT-10'

/** What hand-helds do (common practice, no source). */
const gapsMs = [12_000, 15_000, 20_000, 30_000, 30_000]

/** `count N 3`: an answer of N messages to question 3, which say so themselves. */
const countService: Service = {
  keyword: 'count',
  summary: 'Counts its messages',
  usage: 'count COUNT NUMBER',
  messagesMax: () => 10,
  answer: ({ words: [count, number] }) =>
    Array.from({ length: Number(count) }, (_, part) =>
      `${number}.${part + 1} `.padEnd(60, 'fair weather at the hut '),
    ),
}

/**
 * People who ask, all at once or one after the other, and the node with its real transmit controller on a virtual clock. What they
 * send is heard at once, however many they are: the node's airtime is what is looked at, not the channel.
 */
export async function runAskers(options: AskersOptions): Promise<AskersResult> {
  const clock = virtualClock()
  const random = seededRandom(options.seed)
  const channel = createChannel({
    clock,
    random: seededRandom(options.seed + 1),
    lossShare: () => 0,
  })
  const tapped = tappedChannel(channel, clock, (octets) => crowd.sent(octets))
  const { port, hear } = portThatHears(options, clock, tapped)
  const store = openStore({ file: ':memory:', clock })
  const events: NodeEvent[] = []
  let id = 0
  const node = createNode({
    ports: [port],
    clock,
    random: seededRandom(options.seed + 2),
    nextId: () => `n${++id}`,
    store,
    services: [countService],
    options: defaultNodeOptions({ call: nodeCall, ...options.nodeOptions }),
    onEvent: (event) => events.push(event),
  })
  node.start()
  const crowd = new Crowd(options, clock, random, hear)
  crowd.start()
  options.disturb?.({ clock, channel, port, random })
  await clock.advanceToAsync(options.lastsMs)
  const state = node.state()
  node.stop()
  store.close()
  await port.close()
  return { ...crowd.result(), keyedMs: channel.counters.keyedMs, events, state }
}

/** The same channel; each frame that the node sends to its end is told, whether or not somebody hears it. */
function tappedChannel(
  channel: Channel,
  clock: VirtualClock,
  onSent: (octets: Uint8Array) => void,
): Channel {
  return {
    attach: (listener) => channel.attach(listener),
    counters: channel.counters,
    transmit(from, durationMs, frames) {
      const cut = channel.transmit(from, durationMs, frames)
      const nowMs = clock.monotonicMs()
      const cancels = frames.map(({ octets, toMs }) => clock.at(nowMs + toMs, () => onSent(octets)))
      return () => {
        cut()
        for (const cancel of cancels) cancel()
      }
    },
  }
}

/** The node's radio; what is given to `hear` it has heard. */
function portThatHears(options: AskersOptions, clock: VirtualClock, channel: Channel) {
  const radio = simulatedRadio({
    ...{ clock, channel, call: nodeCall },
    random: seededRandom(options.seed + 3),
    dutyShare: options.dutyShare ?? 0.2,
  })
  const listeners: ((frame: HeardFrame) => void)[] = []
  const port: Port = {
    ...radio,
    onFrame(listener) {
      listeners.push(listener)
      radio.onFrame(listener)
    },
  }
  const hear = (octets: Uint8Array): void => {
    const heard = { heardAtMs: clock.monotonicMs(), heardAtWallMs: clock.wallMs() }
    for (const listener of listeners)
      listener({ octets, radio: 0, ...heard, repairedBits: 0, detector: 'simulation' })
  }
  return { port, hear }
}

class Crowd {
  private readonly askings: Asking[] = []
  private readonly acknowledging = new Set<string>()
  /** by call: when it was sent a refusal in words */
  private readonly refusedMs = new Map<string, number[]>()
  private readonly frames: { readonly kind: keyof FrameCounts; readonly asking?: Asking }[] = []
  private readonly timers = new Map<Asking, Cancel>()

  constructor(
    private readonly options: AskersOptions,
    private readonly clock: VirtualClock,
    private readonly random: Random,
    private readonly hear: (octets: Uint8Array) => void,
  ) {}

  start(): void {
    const { options, random } = this
    for (let index = 0; index < options.askerCount; index++) {
      const call = callOf(index)
      if (random() < (options.acknowledging ?? 0)) this.acknowledging.add(call)
      const count = options.questionsEach?.(random) ?? 1
      let atMs = random() * options.withinMs
      for (let number = 1; number <= count; number++) {
        this.clock.at(atMs, () => this.ask(call, String(number)))
        atMs += 5_000 + random() * 60_000
      }
    }
  }

  sent(octets: Uint8Array): void {
    const decoded = decodeFrame(octets)
    if (!decoded.ok) throw new Error(decoded.reason)
    const payload = parsePayload(decoded.frame.payload, '')
    if (!('addressee' in payload)) {
      this.frames.push({ kind: 'others' })
      return
    }
    const own = this.askings.filter(({ call }) => call === payload.addressee)
    const atMs = this.clock.monotonicMs()
    if (payload.kind === 'acknowledgement' || payload.kind === 'rejection') {
      const asking = own.find(({ number }) => number === payload.number)!
      const isRejection = payload.kind === 'rejection'
      if (isRejection) asking.rejectedMs ??= atMs
      else asking.acknowledgedMs ??= atMs
      this.timers.get(asking)?.()
      this.frames.push({ kind: isRejection ? 'rejections' : 'acknowledgements', asking })
    } else if (payload.kind === 'message') this.message(own, payload)
  }

  result() {
    const { askings } = this
    const frames: FrameCounts = {
      ...{ acknowledgements: 0, rejections: 0, firstCopies: 0, unfinished: 0 },
      ...{ repeats: 0, refusals: 0, others: 0 },
    }
    for (const { kind, asking } of this.frames)
      frames[kind === 'firstCopies' && !isWhole(asking!) ? 'unfinished' : kind]++
    const frameCount = this.frames.length
    return {
      ...{ askings, frames, frameCount },
      usefulShare: (frames.acknowledgements + frames.firstCopies) / frameCount,
      wholeCount: askings.filter(isWhole).length,
      left: askings.filter((asking) => !this.isKept(asking)),
    }
  }

  private isKept(asking: Asking): boolean {
    const { call, acknowledgedMs, rejectedMs, askedMs, parts } = asking
    if (acknowledgedMs === undefined || rejectedMs !== undefined) return true
    const untilMs = acknowledgedMs + usefulMs
    const toldUntilMs = untilMs + windowMs
    const times = [...parts.values()].map(({ atMs }) => atMs)
    // What has begun in time is finished.
    if (isWhole(asking) && Math.min(...times) <= untilMs && Math.max(...times) <= toldUntilMs)
      return true
    const isRefused = this.refusedMs.get(call)?.some((ms) => ms >= askedMs && ms <= toldUntilMs)
    const isReplaced = this.askings.some(
      (other) => other.call === call && other.askedMs > askedMs && other.askedMs < untilMs,
    )
    return isRefused === true || isReplaced
  }

  private ask(call: string, number: string): void {
    const messageCount = this.options.messages?.(this.random) ?? 1
    const askedMs = this.clock.monotonicMs()
    const asking: Asking = { call, number, askedMs, messageCount, sentCount: 0, parts: new Map() }
    this.askings.push(asking)
    this.sendQuestion(asking)
  }

  private sendQuestion(asking: Asking): void {
    const { call, number, messageCount } = asking
    const text = `count ${messageCount} ${number}`
    if (!this.isLost())
      this.hear(frameOf(call, formatMessage({ addressee: nodeCall, text, number })))
    const gapMs = gapsMs[asking.sentCount]
    asking.sentCount++
    if (this.options.repeating !== true || gapMs === undefined) return
    const atMs = this.clock.monotonicMs() + gapMs * (0.9 + 0.2 * this.random())
    this.timers.set(
      asking,
      this.clock.at(atMs, () => this.sendQuestion(asking)),
    )
  }

  private message(
    own: readonly Asking[],
    { addressee, text, number }: { addressee: string; text: string; number?: string },
  ): void {
    const [, question, part] = /^(\d+)\.(\d+) /.exec(text) ?? []
    const asking = own.find((one) => one.number === question)
    if (asking === undefined || part === undefined) {
      const before = this.refusedMs.get(addressee) ?? []
      this.refusedMs.set(addressee, [...before, this.clock.monotonicMs()])
      this.frames.push({ kind: 'refusals' })
      return
    }
    if (text.endsWith('..')) asking.messageCount = 1
    const known = asking.parts.get(Number(part))
    this.frames.push({ kind: known === undefined ? 'firstCopies' : 'repeats', asking })
    if (known === undefined)
      asking.parts.set(Number(part), { atMs: this.clock.monotonicMs(), count: 1 })
    else known.count++
    if (number === undefined || !this.acknowledging.has(addressee)) return
    // one chance for each way
    if (this.isLost() || this.isLost()) return
    const octets = frameOf(addressee, formatAcknowledgement({ addressee: nodeCall, number }))
    this.clock.at(this.clock.monotonicMs() + 1_000 + 2_000 * this.random(), () => this.hear(octets))
  }

  private isLost(): boolean {
    return this.random() < (this.options.lossShare ?? 0)
  }
}

/** After its acknowledgement, an answer has so long, and the transmission that it is in. */
const usefulMs = defaultNodeOptions().answers.notAfterMs + 10_000

/** Of the duty limit: so long it may hold up the rest of an answer, or the word that the time for one is over. */
const windowMs = 360_000

const isWhole = ({ parts, messageCount }: Asking): boolean => parts.size === messageCount

function frameOf(call: string, payload: Uint8Array): Uint8Array {
  return encodeFrame(
    uiFrame({ source: addressOf(call), destination: addressOf('APZ001'), path: [], payload }),
  )
}

function addressOf(text: string): Address {
  const address = parseAddress(text)
  if (!address.ok) throw new Error(address.reason)
  return address.value
}

/** Q0AAA-7 and on: no country's calls begin with Q. */
function callOf(index: number): string {
  const letter = (at: number): string => String.fromCharCode(65 + (at % 26))
  const digit = Math.floor(index / 17_576) % 10
  return `Q${digit}${letter(index / 676)}${letter(index / 26)}${letter(index)}-7`
}
