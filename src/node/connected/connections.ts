import { type Address, formatAddress, isWellFormed, parseAddress } from '../../ax25/address.js'
import { type Ax25Frame, decodeFrame, digipeaterCountMax } from '../../ax25/frame.js'
import type { LinkOptions } from '../../ax25/session/linkState.js'
import type { HeardFrame, Port } from '../../radio/port.js'
import { type Allowance, createAllowance } from '../../runtime/allowance.js'
import { type Cancel, type Clock, every } from '../../runtime/clock.js'
import { callIsListed } from '../addressing.js'
import type { Journal } from '../journal.js'
import type { NodeOptions } from '../options.js'
import { rateLimit } from '../rateLimit.js'
import type { Transmitter } from '../transmitter.js'
import { type BoundedCarrier, boundedCarrier, type LinkMeter } from './linkCarrier.js'
import { type LinkEnd, type PeerLink, peerLink } from './peerLink.js'
import type { OpenSession } from './session.js'

export interface ConnectionOptions {
  /** what is connected to */
  readonly own: Address
  readonly radios: readonly number[]
  readonly stationsMax: number
  readonly version22: boolean
  readonly link: LinkOptions
  readonly frameOctets: number
  readonly idleMs: number
  readonly sessionMs: number
  /** a frame that found no free channel by then is given up: the link asks for it again */
  readonly notAfterMs: number
}

export interface ConnectionParts {
  readonly clock: Clock
  readonly ports: readonly Pick<Port, 'radio' | 'state'>[]
  readonly transmitter: Pick<Transmitter, 'send'>
  readonly note: Journal
  readonly options: ConnectionOptions
  /** as they are now: stations that are refused, calls with SSID, or without for every SSID; upper case */
  readonly nodeOptions: Pick<NodeOptions, 'ignored'>
  /** local time at which the quiet hours that hold now are over */
  readonly quietUntil: () => string | undefined
  /** @param radio that the station is connected by */
  readonly openSession: (radio: number) => OpenSession
  /** what keeps a connection with this station within its share of the time; undefined: nothing does */
  readonly meterFor?: ((call: string) => LinkMeter | undefined) | undefined
}

/** Stations that are connected to the node. */
export interface Connections {
  /** @returns whether the frame belongs to a connection with us, wanted or not */
  take(frame: HeardFrame): boolean
  /**
   * Connects to a station that is heard direct.
   * @param openSession what stands at this end once it has answered
   * @param onEnded told when the connection is over, or was never made
   * @returns false when there is a connection with it already, or nobody may be called: nothing is told then
   */
  call(station: string, radio: number, openSession: OpenSession, onEnded: () => void): boolean
  readonly openCount: number
  /** calls that were refused, and why; frames that were not listened to */
  readonly counts: Readonly<Record<string, number>>
  stop(): void
}

interface Entry {
  readonly call: string
  readonly radio: number
  readonly path: string
  readonly link: PeerLink
  readonly carrier: BoundedCarrier
  /** of frames that have to be answered at once */
  readonly asking: Allowance
  sinceMs: number
  movedMs: number
  movedOctets: number
  closingSinceMs: number | undefined
  closeReason: string | undefined
  /** of a connection that we asked for */
  onEnded?: () => void
}

/** Octets that may wait for one station. */
const backlogOctetsMax = 65_536
/** Frames that may wait for the radio from one station: whoever has us answer more is not listened to until they are sent. */
const unsentMax = 40
/** A station that called, or had its link begin anew, so often in this time has no use of it. */
const callsMax = 12
const callsWindowMs = 10 * 60_000
/** Calls, polls and other frames of one station that must be answered: at once, and a second. */
const askingAtOnce = 30
const askingPerSecond = 0.5
/** Answers to stations that are not connected: at once, and a second. */
const strangerAnswers = 10
const strangerAnswersPerSecond = 1 / 6
const lookEveryMs = 15_000
/** What a station is sent when we end it has so long to arrive. */
const closingMsMax = 120_000
const repairedBitsMax = 1

export function connections(parts: ConnectionParts): Connections {
  return new AllConnections(parts)
}

class AllConnections implements Connections {
  private readonly entries = new Map<string, Entry>()
  private readonly tally = new Map<string, number>()
  private readonly strangers: Allowance
  private readonly calls = rateLimit(callsWindowMs, 200)
  private cancelLook: Cancel = () => {}
  private looking = false
  private stopped = false

  constructor(private readonly parts: ConnectionParts) {
    this.strangers = createAllowance(parts.clock, strangerAnswers, strangerAnswersPerSecond)
  }

  get openCount(): number {
    return [...this.entries.values()].filter(({ link }) => link.isOpen).length
  }

  get counts(): Readonly<Record<string, number>> {
    return Object.fromEntries(this.tally)
  }

  take(heard: HeardFrame): boolean {
    const plain = decodeFrame(heard.octets)
    if (this.stopped || !plain.ok || !this.isForUs(plain.frame)) return false
    const isText = plain.frame.control.type === 'UI'
    if (isText && !plain.frame.control.pollFinal) return false
    if (!this.parts.options.radios.includes(heard.radio)) return false
    if (heard.repairedBits > repairedBitsMax) this.count('repaired by too many bits')
    else this.listen(heard, plain.frame)
    return !isText
  }

  call(station: string, radio: number, openSession: OpenSession, onEnded: () => void): boolean {
    const peer = parseAddress(station)
    const key = `${radio} ${station}`
    const known = this.entries.get(key)
    if (this.stopped || !peer.ok || (known !== undefined && !known.link.isIdle)) return false
    if (!this.parts.options.radios.includes(radio)) return false
    const entry = this.newEntry(station, radio, peer.value, [], openSession)
    entry.link.mayConnect = true
    entry.onEnded = onEnded
    this.entries.set(key, entry)
    entry.link.connect(this.parts.options.version22 ? '2.2' : '2.0')
    this.look()
    return true
  }

  stop(): void {
    this.stopped = true
    this.cancelLook()
    for (const { link } of this.entries.values()) link.stop()
    this.entries.clear()
  }

  private isForUs({ destination, source, path }: Ax25Frame): boolean {
    const { own } = this.parts.options
    const isOwn = destination.call === own.call && destination.ssid === own.ssid
    const isFromUs = source.call === own.call && source.ssid === own.ssid
    // What is no call sign can be no way back.
    const isWhole = [source, ...path.map(({ address }) => address)].every(isWellFormed)
    const hasCome = path.length <= digipeaterCountMax && path.every(({ repeated }) => repeated)
    return isOwn && !isFromUs && isWhole && hasCome
  }

  private listen(heard: HeardFrame, plain: Ax25Frame): void {
    const call = formatAddress(plain.source)
    const key = `${heard.radio} ${call}`
    const entry = this.entries.get(key)
    const path = pathOf(plain)
    if (entry === undefined || entry.link.isIdle) {
      this.entries.delete(key)
      this.hearStranger(key, call, heard, plain)
    } else if (entry.path !== path) this.count('came another way than the connection')
    else if (entry.carrier.unsentCount > unsentMax) this.count('its answers wait already')
    else if (asks(plain) && !entry.asking.take(1)) this.count('asked too often')
    else {
      const read = decodeFrame(heard.octets, { modulo: entry.link.modulo })
      if (read.ok) entry.link.take(read.frame)
      this.forgetIdle(key, entry)
    }
  }

  /** Nothing stands between us and this station: it calls, asks for parameters, or goes on with what is no more. */
  private hearStranger(key: string, call: string, heard: HeardFrame, frame: Ax25Frame): void {
    if (frame.command !== 'command' && frame.control.type !== 'U') return
    if (!this.strangers.take(1)) {
      this.count('too many that are not connected')
      return
    }
    const path = frame.path.map(({ address }) => address)
    const entry = this.newEntry(call, heard.radio, frame.source, path)
    const refusal = this.refusalOf(call, frame)
    entry.link.mayConnect = refusal === undefined
    this.entries.set(key, entry)
    entry.link.take(frame)
    if (refusal !== undefined && isCall(frame)) this.refused(call, heard.radio, refusal)
    this.forgetIdle(key, entry)
    this.look()
  }

  private refusalOf(call: string, frame: Ax25Frame): string | undefined {
    const { options, nodeOptions } = this.parts
    if (!isCall(frame)) return 'it did not call'
    const quiet = this.parts.quietUntil()
    if (quiet !== undefined) return `quiet hours until ${quiet}`
    if (callIsListed(call, nodeOptions.ignored)) return 'on the list of stations not to answer'
    if (isCall22(frame) && !options.version22) return 'version 2.2 is switched off'
    const nowMs = this.parts.clock.monotonicMs()
    if (this.calls.note(call, nowMs) > callsMax) return 'it called too often'
    return this.openCount >= options.stationsMax
      ? `${options.stationsMax} stations are connected already`
      : undefined
  }

  private refused(call: string, radio: number, reason: string): void {
    this.count(`refused: ${reason}`)
    this.parts.note('refused', 'a connection', { station: call, radio, reason })
  }

  /** @param path by which it is heard, in that order */
  private newEntry(
    call: string,
    radio: number,
    peer: Address,
    path: readonly Address[],
    openSession: OpenSession = this.parts.openSession(radio),
  ): Entry {
    const { clock, options, transmitter } = this.parts
    const port = this.parts.ports.find((one) => one.radio === radio)
    const carrier = boundedCarrier({
      ...{ clock, transmitter, radio, station: call, notAfterMs: options.notAfterMs },
      channelBusy() {
        const state = port?.state()
        return state !== undefined && (state.channelBusy || state.keyed)
      },
      meter: this.parts.meterFor?.(call),
    })
    const nowMs = clock.monotonicMs()
    const entry: Entry = {
      ...{ call, radio, path: path.map(formatAddress).join(','), carrier },
      asking: createAllowance(clock, askingAtOnce, askingPerSecond),
      link: peerLink({
        ...{ clock, link: this.linkOptions(path.length), own: options.own, carrier },
        ...{ peer, path: [...path].reverse() },
        ...{ frameOctets: options.frameOctets, backlogOctetsMax },
        openSession,
        onConnected: () => this.connected(entry),
        onEnded: (end) => this.ended(entry, end),
        onReset: () => this.reset(entry),
        onRejected: (reason) =>
          this.parts.note('rejected', 'a frame of the connection', {
            station: call,
            radio,
            reason,
          }),
      }),
      ...{ sinceMs: nowMs, movedMs: nowMs, movedOctets: 0 },
      ...{ closingSinceMs: undefined, closeReason: undefined },
    }
    return entry
  }

  /** More with each digipeater. @see AX.25 v2.2, 6.7.1.1 */
  private linkOptions(hopCount: number): LinkOptions {
    const { link } = this.parts.options
    const factor = 2 * hopCount + 1
    const { roundTripMs, t1MsMin } = link.times
    const times = { ...link.times, roundTripMs: roundTripMs * factor, t1MsMin: t1MsMin * factor }
    return { ...link, times }
  }

  private connected(entry: Entry): void {
    entry.sinceMs = this.parts.clock.monotonicMs()
    this.noteMoved(entry)
    const by = entry.path === '' ? '' : ` by way of ${entry.path}`
    const version = entry.link.modulo === 128 ? '2.2' : '2.0'
    this.parts.note('connected', `version ${version}${by}`, {
      ...{ station: entry.call, radio: entry.radio },
    })
  }

  private reset(entry: Entry): void {
    this.count('begun anew')
    const nowMs = this.parts.clock.monotonicMs()
    if (this.calls.note(entry.call, nowMs) <= callsMax) return
    entry.closingSinceMs ??= nowMs
    entry.closeReason ??= 'it connected again too often'
    entry.link.drop()
  }

  private ended(entry: Entry, end: LinkEnd): void {
    const { sentOctets, receivedOctets } = entry.link
    const minutes = ((this.parts.clock.monotonicMs() - entry.sinceMs) / 60_000).toFixed(1)
    const text = `${receivedOctets} octets received, ${sentOctets} taken, ${minutes} minutes`
    const why = entry.closingSinceMs === undefined ? end : `${end}: ${entry.closeReason}`
    this.parts.note('disconnected', text, {
      ...{ station: entry.call, radio: entry.radio, reason: why },
    })
    entry.onEnded?.()
  }

  private noteMoved(entry: Entry): void {
    entry.movedMs = this.parts.clock.monotonicMs()
    entry.movedOctets = entry.link.sentOctets + entry.link.receivedOctets
  }

  private forgetIdle(key: string, { link }: Entry): void {
    if (link.isIdle) this.entries.delete(key)
  }

  private look(): void {
    if (this.looking) return
    this.looking = true
    const cancel = every(this.parts.clock, lookEveryMs, () => {
      for (const [key, entry] of this.entries) {
        this.lookAt(entry)
        this.forgetIdle(key, entry)
      }
      if (this.entries.size > 0) return
      cancel()
      this.looking = false
    })
    this.cancelLook = cancel
  }

  private lookAt(entry: Entry): void {
    const { link } = entry
    if (!link.isOpen) return
    const nowMs = this.parts.clock.monotonicMs()
    if (link.sentOctets + link.receivedOctets !== entry.movedOctets) this.noteMoved(entry)
    if (entry.closingSinceMs !== undefined) {
      if (nowMs - entry.closingSinceMs > closingMsMax) link.drop()
      return
    }
    const reason = this.endReason(entry, nowMs)
    if (reason === undefined) return
    entry.closingSinceMs = nowMs
    entry.closeReason = reason
    link.close()
  }

  private endReason(entry: Entry, nowMs: number): string | undefined {
    const { idleMs, sessionMs } = this.parts.options
    if (nowMs - entry.movedMs >= idleMs) return `nothing for ${idleMs / 60_000} minutes`
    return nowMs - entry.sinceMs >= sessionMs ? `${sessionMs / 60_000} minutes are over` : undefined
  }

  private count(what: string): void {
    this.tally.set(what, (this.tally.get(what) ?? 0) + 1)
  }
}

const pathOf = ({ path }: Ax25Frame): string =>
  path.map(({ address }) => formatAddress(address)).join(',')

/** A poll, or a frame that is one by its nature. */
const asks = ({ control }: Ax25Frame): boolean =>
  control.type === 'U' ? control.name !== 'UA' && control.name !== 'DM' : control.pollFinal

const isCall = (frame: Ax25Frame): boolean => nameOf(frame) === 'SABM' || isCall22(frame)
const isCall22 = (frame: Ax25Frame): boolean => nameOf(frame) === 'SABME'
const nameOf = ({ control }: Ax25Frame): string => ('name' in control ? control.name : control.type)
