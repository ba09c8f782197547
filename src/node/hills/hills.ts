import type { HeardFrame, Port } from '../../radio/port.js'
import { type Cancel, every } from '../../runtime/clock.js'
import type { Random } from '../../runtime/random.js'
import type { StationsView } from '../../services/service.js'
import type { Connections } from '../connected/connections.js'
import type { LinkMeter } from '../connected/linkCarrier.js'
import type { OpenSession } from '../connected/session.js'
import type { Transmitter } from '../transmitter.js'
import { airtimeShare } from './airtimeShare.js'
import { announcementPayload, heardAnnouncement } from './announcement.js'
import { bookFor, type Refusals } from './book.js'
import { type Exchange, exchange } from './exchange.js'
import type { HillCarrier } from './hillCarrier.js'
import { type HillParts, isBy, minuteMs, type NeighbourOptions } from './hillParts.js'
import { hillSession } from './hillSession.js'
import { characters, entryOfQuestion } from './ids.js'
import { ledger, notWithdrawn } from './ledger.js'
import { neighbours } from './neighbours.js'

/** What the node gives, besides what its parts need. */
export interface HillNeeds extends Omit<HillParts, 'options' | 'letters' | 'lifeMark'> {
  readonly random: Random
  readonly nextId: () => string
  readonly ports: readonly Pick<Port, 'radio' | 'state'>[]
  readonly transmitter: Pick<Transmitter, 'send' | 'isBusy' | 'blockedBy'>
  /** local time at which the quiet hours that hold now are over */
  readonly quietUntil: () => string | undefined
}

/** A carrier besides the radio, where one is configured. */
interface OtherWay {
  readonly carrier?: HillCarrier | undefined
}

/** Builds what exchanges entries with other nodes; given to createNode only where it is configured. */
export type MakeHills = (needs: HillNeeds) => Hills

/** What a node exchanges with the nodes on other hills. */
export interface Hills {
  start(connections: Pick<Connections, 'call'> | undefined): void
  stop(): void
  /** Every frame that a radio heard. */
  take(frame: HeardFrame): void
  /** @returns the session for a node that connects; undefined for everybody else */
  sessionFor(call: string): OpenSession | undefined
  /** what keeps a connection with another node within its share of the time; undefined for everybody else */
  meterFor(call: string): LinkMeter | undefined
  /** what services see of stations: those that other nodes heard, too */
  stationsView(own: StationsView): StationsView
  /** a mailbox entry that came from another node: its sender is told there */
  isFromElsewhere(questionId: string): boolean
  readonly state: HillState
  /** the newest entries, newest first; with what stands in any of their fields where words are given */
  find(words: string): readonly FoundEntry[]
  /** @returns in words what is done; undefined for an unknown id */
  withdraw(entryId: string): string | undefined
  /** Has the message of this question, which another node has, ended there. @returns false where that cannot be told anybody */
  withdrawMessage(questionId: string): boolean
}

export interface FoundEntry {
  readonly id: string
  readonly kind: string
  readonly from: string
  readonly to: string
  readonly text: string
  /** 'here', 'handing', 'handed', or what became of it */
  readonly state: string
  readonly peer: string | undefined
}

export interface HillState {
  readonly neighbours: readonly {
    readonly call: string
    /** how long ago it was heard, ms; undefined for never since the start */
    readonly heardAgoMs: number | undefined
    /** whether the broker reaches it; undefined where it is not reached by one */
    readonly online: boolean | undefined
    readonly sessionCount: number
    readonly failureCount: number
  }[]
  readonly routes: readonly {
    readonly node: string
    readonly next: string
    readonly hops: number
  }[]
  readonly openCount: number
  /** time of the key line in the last hour, ms */
  readonly usedMs: number
}

const lookEveryMs = minuteMs
/** A neighbour that was not heard for longer is not called. */
const heardWithinMs = 24 * 60 * minuteMs
const pauseMsMax = 4 * 60 * minuteMs
/** An octet at 1200 bit/s with what frames, acknowledgements and repeats add (common practice, no source). */
const msPerOctet = 12
/** Of the share, so much is left for acknowledgements and repeats. */
const keptBack = 0.25
const turnOctetsMax = 6_000
/** A session in which nothing goes: calls, greetings, their acknowledgements. */
const emptySessionMs = 6_000
const announcementLastsMs = 120_000
const foundMax = 200

/** What this node knows of one configured neighbour's sessions. Times are monotonic. */
interface Calling {
  nextAtMs: number
  failures: number
  sessions: number
  failureCount: number
  /** the way by which we called it; undefined once that is over */
  calledBy: Way | undefined
  /** ends the session that there is with it, whoever called: two at a time would count each other's */
  end: (() => void) | undefined
}

type Way = 'radio' | 'broker'

export function hills(parts: HillParts & HillNeeds & OtherWay): Hills {
  return new RunningHills(parts)
}

class RunningHills implements Hills {
  private readonly heard = neighbours()
  private readonly ledger
  private readonly share
  private readonly refusals: Refusals = new Map()
  private readonly calling = new Map<string, Calling>()
  private connections: Pick<Connections, 'call'> | undefined
  private cancels: Cancel[] = []
  private lastFrameMs = Number.NEGATIVE_INFINITY
  private sessionCount = 0

  constructor(private readonly parts: HillParts & HillNeeds & OtherWay) {
    this.ledger = ledger(parts, parts.nextId)
    this.share = airtimeShare(parts.clock, parts.options.dutyShare)
    for (const { call } of parts.options.neighbours)
      this.calling.set(call, {
        nextAtMs: 0,
        failures: 0,
        sessions: 0,
        failureCount: 0,
        calledBy: undefined,
        end: undefined,
      })
  }

  start(connections: Pick<Connections, 'call'> | undefined): void {
    const { clock, options, random, carrier } = this.parts
    this.connections = connections
    this.cancels = [every(clock, lookEveryMs, () => this.look())]
    carrier?.start({
      sessionFor: (call) => this.openFor(call, 'broker'),
      reached: (call) => this.reached(call),
    })
    // Nobody on the air is looked for where all are reached by a broker.
    if (!options.neighbours.some((one) => isBy(one, 'radio'))) return
    const firstMs = options.announceMs * (0.05 + 0.2 * random())
    this.cancels.push(
      every(clock, options.announceMs, () => this.announce()),
      clock.at(clock.monotonicMs() + firstMs, () => this.announce()),
    )
  }

  stop(): void {
    for (const cancel of this.cancels) cancel()
    this.cancels = []
    this.parts.carrier?.stop()
    this.connections = undefined
  }

  take(frame: HeardFrame): void {
    if (frame.radio !== this.parts.options.radio) return
    const nowMs = this.parts.clock.monotonicMs()
    this.lastFrameMs = nowMs
    const told = frame.repairedBits === 0 ? heardAnnouncement(frame.octets) : undefined
    if (told === undefined || told.call === this.parts.options.own) return
    this.heard.heard(told, frame.radio, nowMs)
    if (this.neighbour(told.call) !== undefined) this.ledger.routes.learn([told.call], nowMs)
  }

  sessionFor(call: string): OpenSession | undefined {
    return this.openFor(call, 'radio')
  }

  meterFor(call: string): LinkMeter | undefined {
    const neighbour = this.neighbour(call)
    if (neighbour === undefined || !isBy(neighbour, 'radio')) return undefined
    const { share } = this
    return {
      maySend: () => share.leftMs > 0,
      note: (airtimeMs) => share.note(airtimeMs),
    }
  }

  stationsView(own: StationsView): StationsView {
    return this.ledger.known.view(own)
  }

  isFromElsewhere(questionId: string): boolean {
    return entryOfQuestion(questionId) !== undefined
  }

  get state(): HillState {
    const { clock, store, options, carrier } = this.parts
    const nowMs = clock.monotonicMs()
    return {
      neighbours: options.neighbours.map((one) => {
        const { call } = one
        const online = isBy(one, 'broker') ? carrier?.reaches(call) === true : undefined
        const heard = this.heard.find(call)
        const { sessions, failureCount } = this.calling.get(call)!
        const heardAgoMs = heard && nowMs - heard.heardAtMs
        return { call, heardAgoMs, online, sessionCount: sessions, failureCount }
      }),
      routes: this.ledger.routes.all(nowMs).map(({ node, next, hops }) => ({ node, next, hops })),
      openCount: store.reading('entries', 0, () => store.hills.open().length),
      usedMs: this.share.usedMs,
    }
  }

  find(words: string): readonly FoundEntry[] {
    const { store } = this.parts
    const wanted = words.trim().toLowerCase()
    return store
      .reading('entries', [], () => store.hills.recent(foundMax * 10))
      .map(({ entryId: id, kind, from, to, text, state, peer, outcome }) => ({
        ...{ id, kind, from, to, text, state: outcome ?? state, peer },
      }))
      .filter((one) => Object.values(one).join(' ').toLowerCase().includes(wanted))
      .slice(0, foundMax)
  }

  withdraw(entryId: string): string | undefined {
    return this.ledger.withdraw(entryId)
  }

  withdrawMessage(questionId: string): boolean {
    const { store } = this.parts
    const row = store.reading('an entry', undefined, () =>
      store.hills.findByLocal('message', questionId),
    )
    return row !== undefined && this.ledger.withdraw(row.entryId) !== notWithdrawn
  }

  private neighbour(call: string): NeighbourOptions | undefined {
    return this.parts.options.neighbours.find((one) => one.call === call)
  }

  private openFor(call: string, way: Way): OpenSession | undefined {
    const neighbour = this.neighbour(call)
    return neighbour && isBy(neighbour, way) ? this.open(neighbour, way).openSession : undefined
  }

  /** The broker reaches it from now on. */
  private reached(call: string): void {
    const nowMs = this.parts.clock.monotonicMs()
    const calling = this.calling.get(call)
    if (calling === undefined) return
    calling.failures = 0
    calling.nextAtMs = nowMs
  }

  private look(): void {
    this.ledger.look()
    const { options, carrier } = this.parts
    let isCalled = false
    for (const neighbour of options.neighbours) {
      const { call } = neighbour
      const way = carrier?.reaches(call) === true && isBy(neighbour, 'broker') ? 'broker' : 'radio'
      if (way === 'broker') this.ledger.routes.learn([call], this.parts.clock.monotonicMs())
      // By radio one at a time: the other waits until the channel is quiet again.
      if (way === 'broker' ? this.mayCallByBroker(call) : !isCalled && this.mayCall(neighbour))
        isCalled = this.callBy(way, neighbour) && way === 'radio'
    }
  }

  /** @returns whether it is called: it is not where there is nothing for it */
  private callBy(way: Way, neighbour: NeighbourOptions): boolean {
    const { options, carrier } = this.parts
    const { call } = neighbour
    if (bookFor(this.ledger, neighbour, this.refusals).offers(turnOctetsMax).length === 0)
      return false
    const calling = this.calling.get(call)!
    const { openSession, onOver } = this.open(neighbour, way)
    const onEnded = (): void => onOver('no answer')
    calling.calledBy = way
    const isCalled =
      way === 'broker'
        ? carrier?.call(call, openSession, onEnded)
        : this.connections?.call(call, options.radio, openSession, onEnded)
    if (isCalled === true) return true
    calling.calledBy = undefined
    return false
  }

  private mayCallByBroker(call: string): boolean {
    const { calledBy, end, nextAtMs } = this.calling.get(call)!
    return calledBy === undefined && end === undefined && this.parts.clock.monotonicMs() >= nextAtMs
  }

  private mayCall(neighbour: NeighbourOptions): boolean {
    const { call } = neighbour
    const { clock, options, transmitter, ports, quietUntil } = this.parts
    const nowMs = clock.monotonicMs()
    const calling = this.calling.get(call)!
    const heard = this.heard.find(call)
    if (!isBy(neighbour, 'radio') || calling.calledBy !== undefined) return false
    const isCallingByRadio = [...this.calling.values()].some(({ calledBy }) => calledBy === 'radio')
    if (isCallingByRadio || calling.end !== undefined) return false
    if (heard === undefined || nowMs - heard.heardAtMs > heardWithinMs) return false
    if (nowMs < calling.nextAtMs || nowMs - this.lastFrameMs < options.quietMs) return false
    const port = ports.find(({ radio }) => radio === options.radio)?.state()
    if (port === undefined || port.channelBusy || port.keyed) return false
    if (transmitter.isBusy(options.radio) || transmitter.blockedBy(options.radio) !== undefined)
      return false
    return quietUntil() === undefined && this.roomOctets() > 0
  }

  /** Octets of text that the share of the time has room for. */
  private roomOctets(): number {
    const { dutyShare } = this.parts.options
    const leftMs = this.share.leftMs - keptBack * dutyShare * 60 * minuteMs - emptySessionMs
    return Math.max(0, Math.min(turnOctetsMax, Math.floor(leftMs / msPerOctet)))
  }

  private open(neighbour: NeighbourOptions, way: Way) {
    const { options, nextId, random, carrier } = this.parts
    const { call, secret } = neighbour
    const nonce = characters(16, 'nonce', nextId(), ++this.sessionCount, random())
    const running = exchange({
      ...{ own: options.own, peer: call, nonce, secret },
      book: bookFor(this.ledger, neighbour, this.refusals),
      roomOctets: () => (way === 'broker' ? (carrier?.turnOctets ?? 0) : this.roomOctets()),
    })
    const calling = this.calling.get(call)!
    let end: (() => void) | undefined
    let over = false
    const onOver = (how: string): void => {
      if (over) return
      over = true
      if (calling.end === end) calling.end = undefined
      this.sessionOver(call, way, how, running.moved)
    }
    const within = hillSession(running, onOver)
    const openSession: OpenSession = (peer) => {
      const before = calling.end
      const session = within(peer)
      end = () => session.ended()
      calling.end = end
      before?.()
      return session
    }
    return { openSession, onOver }
  }

  private sessionOver(call: string, way: Way, how: string, moved: Exchange['moved']): void {
    const { clock, options, random, carrier, note } = this.parts
    const calling = this.calling.get(call)!
    if (calling.calledBy === way) calling.calledBy = undefined
    const nowMs = clock.monotonicMs()
    const isComplete = how === 'complete'
    calling.failures = isComplete ? 0 : calling.failures + 1
    if (isComplete) {
      calling.sessions++
      this.heard.met(call, nowMs)
      this.ledger.routes.learn([call], nowMs)
    } else calling.failureCount++
    const everyMs = way === 'broker' ? (carrier?.everyMs ?? options.everyMs) : options.everyMs
    const pauseMs = Math.min(pauseMsMax, everyMs * 2 ** Math.min(6, calling.failures))
    calling.nextAtMs = nowMs + pauseMs * (0.8 + 0.4 * random())
    if (!isComplete)
      note('given up', `entries with ${call}`, { station: call, reason: `${how}, by ${way}` })
    else if (way === 'broker' && moved.given + moved.taken > 0)
      note('disconnected', `entries by the broker: ${moved.given} given, ${moved.taken} taken`, {
        station: call,
      })
  }

  private announce(): void {
    const { clock, options, transmitter, store, letters, quietUntil } = this.parts
    if (quietUntil() !== undefined || this.share.leftMs === 0) return
    const kinds = [...new Set(options.neighbours.flatMap(({ takes }) => takes))].filter(
      (kind) => kind !== 'letter' || letters !== undefined,
    )
    const waitingCount = store.reading('entries', 0, () => this.ledger.carried.waiting().length)
    transmitter.send({
      payload: announcementPayload({ call: options.own, kinds, waitingCount }),
      ...{ path: [], radio: options.radio, priority: 'beacon', text: 'beacon: node' },
      notAfterMs: clock.monotonicMs() + announcementLastsMs,
      onEnd: (outcome) => {
        if (outcome.kind === 'sent') this.share.note(outcome.airtimeMs)
      },
    })
  }
}
