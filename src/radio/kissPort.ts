import { createModemLink, type ModemLink } from '../kiss/modemLink.js'
import type { OpenStream } from '../kiss/octetStream.js'
import { type Cancel, type Clock, every } from '../runtime/clock.js'
import type { Random } from '../runtime/random.js'
import {
  type ControllerDriver,
  createControllerDriver,
  type DeviceAction,
} from './controllerDriver.js'
import type { ControllerInput, ControllerPast } from './controllerTypes.js'
import { owedAtClose } from './identification.js'
import type { Airtime, PortState, TransmitOutcome, TransmitRequest } from './port.js'
import { queueTeller } from './queueTeller.js'
import { RadioListeners } from './radioListeners.js'
import type { ChannelAccess, RadioPort, ToneRequest } from './radioPort.js'
import type { DutyReport, WatchWish } from './radioWatch.js'
import { contentDurationMs } from './transmissionAudio.js'
import type { TransmissionContent } from './transmissionContent.js'
import { TransmitController } from './transmitController.js'
import type { TransmitOptions } from './transmitOptions.js'

export interface KissPortOptions {
  readonly radio: number
  readonly name: string
  /** how the modem is reached */
  readonly open: OpenStream
  /** the modem's own number for its radio, 0 to 15 */
  readonly modemPort: number
  /** lines of text that bring it to KISS */
  readonly startup: readonly string[]
  /** a modem that tells nothing for that long is reported, ms; 0 never */
  readonly silentAfterMs: number
  readonly transmit: TransmitOptions
  readonly clock: Clock
  readonly random: Random
  /** what an earlier process did with this radio: its duty limits go on */
  readonly past?: ControllerPast | undefined
}

/** At the end: for what was handed to the modem, and the identification that is owed. */
const closeMsMax = 12_000
/** A modem that takes no more octets is looked at again after that long. */
const roomAgainMs = 1000
const queueLookMs = 500
/** Octets that may wait for a modem that does not read: more than a time-out timer's worth of frames. */
const bufferOctetsMax = 16_384

/**
 * An external KISS modem as a radio. Carrier detect, key line and time-out timer are the modem's own, and it tells
 * nothing of them; so here the same transmit controller reckons with the time that the frames will take on the air:
 * permission, call sign, duty limits, identification, queue and holds are those of any radio. What was handed to the
 * modem cannot be called back: it counts as sent, so that nobody sends it twice. While the modem is away frames are held.
 */
export const createKissPort = (options: KissPortOptions): RadioPort => new KissPort(options)

class KissPort extends RadioListeners implements RadioPort {
  private readonly controller: TransmitController
  private readonly driver: ControllerDriver
  private readonly link: ModemLink
  private fullDuplex: boolean
  private readonly dutyLimits: TransmitOptions['dutyLimits']
  private cancelQueue: Cancel = () => {}
  /** when what the modem was given is over */
  private endAtMs: number | undefined
  private cancelEnd: Cancel = () => {}
  private cancelRoom: Cancel = () => {}
  private lostBy: string | undefined
  /** why what it was given last may not have gone out */
  private lostMeanwhile: string | undefined
  private closed = false
  private onIdle = (): void => {}

  constructor(options: KissPortOptions) {
    super(options.radio, options.name, options.clock)
    const { transmit } = options
    this.fullDuplex = transmit.access.fullDuplex
    this.dutyLimits = transmit.dutyLimits
    // The modem waits for the channel: the controller must not wait as well, for a carrier that it cannot see.
    this.controller = new TransmitController({
      ...withoutSound(transmit),
      access: { ...transmit.access, fullDuplex: true },
      random: options.random,
      durationMs: contentDurationMs,
      keyOverheadMs: 0,
      unkeyMarginMs: 0,
      irrevocable: true,
      past: options.past,
    })
    this.driver = createControllerDriver({
      ...{ controller: this.controller, clock: this.clock, guard: this.guard },
      perform: (action) => this.perform(action),
      onOutcome: (outcome) => this.ended(outcome),
      onEvent: (event) => this.report(event),
      onIdle: () => this.onIdle(),
    })
    this.link = createModemLink({
      open: options.open,
      clock: this.clock,
      modemPort: options.modemPort,
      startup: options.startup,
      silentAfterMs: options.silentAfterMs,
      bufferOctetsMax,
      delayMs: 1000,
      delayMsMax: 60_000,
      openMsMax: 10_000,
      onFrame: this.guard.listener('a frame of the modem', (octets: Uint8Array) =>
        this.heard(octets),
      ),
      onState: this.guard.listener('the line to the modem', (lost: string | undefined) =>
        this.modemChanged(lost),
      ),
      onSilent: this.guard.listener('a modem that is silent', (silent: boolean) =>
        this.modemSilent(silent),
      ),
    })
    this.link.setParameters(this.access())
    this.take({ kind: 'hold', source: modemSource, reason: notConnected })
  }

  send(request: TransmitRequest): void {
    this.take({ kind: 'request', request })
  }

  withdraw(id: string): void {
    this.take({ kind: 'withdraw', id })
  }

  sendTone({ id }: ToneRequest): void {
    const reason = 'an external modem can send no tones'
    this.tellOutcome({ id, kind: 'refused', atMs: this.clock.monotonicMs(), reason })
  }

  hold(source: string, reason: string): void {
    this.take({ kind: 'hold', source, reason })
  }

  release(source: string): void {
    this.take({ kind: 'release', source })
  }

  access(): ChannelAccess {
    return { ...this.controller.access(), fullDuplex: this.fullDuplex }
  }

  setAccess({ fullDuplex, ...change }: Partial<ChannelAccess>): void {
    this.take({ kind: 'access', change })
    this.fullDuplex = fullDuplex ?? this.fullDuplex
    this.link.setParameters(this.access())
  }

  /** channelBusy is always false: the modem does not tell. */
  state(): PortState {
    const { idle: _, ...state } = this.controller.state(this.clock.monotonicMs())
    const { connected } = this.link
    const doubt = this.lostBy ?? this.link.doubt
    const { faultCount } = this.guard
    return {
      ...state,
      receiving: connected,
      channelBusy: false,
      faultCount,
      ...(doubt && { doubt }),
    }
  }

  airtime(): Airtime {
    return this.controller.airtime(this.clock.monotonicMs())
  }

  duty(): DutyReport {
    return { limits: this.dutyLimits, ...this.controller.past() }
  }

  /** A modem tells nothing of its audio: what can be known is the queue. */
  protected onWish(wish: WatchWish | undefined): void {
    this.cancelQueue()
    if (wish === undefined) return
    const queue = queueTeller(
      this.clock,
      () => this.controller.waiting(),
      (report) => this.watchers.tell(report),
    )
    this.cancelQueue = every(this.clock, queueLookMs, () => queue.look())
  }

  /** Refuses what waits; an identification that is owed is still handed to the modem, if it is there. */
  async close(): Promise<void> {
    if (this.closed) return
    this.take({ kind: 'end', reason: 'the radio is being closed' })
    if (this.link.connected && !this.driver.idle) {
      await new Promise<void>((resolve) => {
        this.onIdle = resolve
        this.clock.at(this.clock.monotonicMs() + closeMsMax, resolve)
      })
    }
    const owed = owedAtClose(this.controller, this.clock.monotonicMs())
    if (owed !== undefined) this.tellFault(owed)
    this.closed = true
    this.driver.stop()
    this.cancelEnd()
    this.cancelRoom()
    this.cancelQueue()
    this.link.close()
  }

  private take(input: ControllerInput): void {
    this.driver.take(input)
  }

  private perform(action: DeviceAction): void {
    const nowMs = this.clock.monotonicMs()
    if (action.kind === 'key') this.handOver(action.content, nowMs)
    else if (action.kind === 'unkey') this.take({ kind: 'unkeyed', atMs: nowMs })
  }

  private handOver(content: TransmissionContent, nowMs: number): void {
    const trouble = this.give(content)
    if (trouble !== undefined) {
      this.waitForRoom(trouble)
      this.take({ kind: 'unsent', source: modemSource, reason: trouble })
      return
    }
    this.endAtMs = nowMs + contentDurationMs(content)
    this.cancelEnd()
    this.cancelEnd = this.clock.at(this.endAtMs, () => {
      this.endAtMs = undefined
      this.take({ kind: 'audioEnded' })
    })
    this.lostMeanwhile = undefined
    this.take({ kind: 'keyed', atMs: nowMs })
  }

  private ended(outcome: TransmitOutcome): void {
    const doubt = this.lostMeanwhile ?? this.link.doubt
    this.tellOutcome(outcome.kind === 'sent' && doubt ? { ...outcome, doubt } : outcome)
  }

  /** All frames or none. @returns in words why the modem was not given them */
  private give(content: TransmissionContent): string | undefined {
    return content.kind === 'frames'
      ? this.link.sendFrames(content.frames)
      : 'an external modem can send frames only'
  }

  /** What waits, and an identification that is owed, would be tried again at once, for ever. */
  private waitForRoom(trouble: string): void {
    this.cancelRoom()
    this.cancelRoom = this.clock.at(this.clock.monotonicMs() + roomAgainMs, () => {
      if (!this.link.connected) return
      if (this.link.hasRoom) this.take({ kind: 'release', source: modemSource })
      else this.waitForRoom(trouble)
    })
  }

  private heard(octets: Uint8Array): void {
    const frame = {
      octets,
      radio: this.radio,
      heardAtMs: this.clock.monotonicMs(),
      heardAtWallMs: this.clock.wallMs(),
      repairedBits: 0,
      detector: 'kiss',
    }
    this.tellFrame(frame)
  }

  private modemChanged(lost: string | undefined): void {
    const atMs = this.clock.monotonicMs()
    const wasLostBy = this.lostBy
    this.lostBy = lost
    if (lost === undefined) {
      this.report({ kind: 'recovered', atMs, reason: 'the line to the modem is open' })
      this.take({ kind: 'release', source: modemSource })
      return
    }
    if (this.endAtMs !== undefined) this.lostMeanwhile = 'the modem was lost meanwhile'
    const given = this.endAtMs === undefined ? '' : '; what it was given last may not have gone out'
    // A modem that is away for weeks is told of once, not at every try.
    if (lost !== wasLostBy)
      this.report({ kind: 'fault', atMs, reason: `${notConnected}: ${lost}${given}` })
    this.take({ kind: 'hold', source: modemSource, reason: notConnected })
  }

  private modemSilent(silent: boolean): void {
    const atMs = this.clock.monotonicMs()
    this.report(
      silent
        ? { kind: 'fault', atMs, reason: `${this.link.doubt}: what it is given may not go out` }
        : { kind: 'recovered', atMs, reason: 'the modem tells again what it hears' },
    )
  }
}

/** Who holds while there is no modem, or it takes nothing. */
const modemSource = 'modem'
const notConnected = 'the modem is not connected'

/** A modem keys no Morse; the identification frame stands. */
function withoutSound(transmit: TransmitOptions): TransmitOptions {
  const { morse: _, ...identification } = transmit.identification
  return { ...transmit, identification, code: undefined }
}
