import { createModemLink, type ModemLink } from '../kiss/modemLink.js'
import type { OpenStream } from '../kiss/octetStream.js'
import { type Cancel, type Clock, every } from '../runtime/clock.js'
import type { Random } from '../runtime/random.js'
import type { ControllerAction, ControllerInput, ControllerPast } from './controllerTypes.js'
import type { Airtime, PortState, TransmitRequest } from './port.js'
import { queueTeller } from './queueTeller.js'
import { RadioListeners } from './radioListeners.js'
import type { ChannelAccess, RadioPort, ToneRequest } from './radioPort.js'
import type { DutyReport, WatchWish } from './radioWatch.js'
import type { TransmissionContent } from './transmission.js'
import { contentDurationMs } from './transmissionAudio.js'
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
  private readonly link: ModemLink
  /** the first is being handled */
  private readonly inputs: ControllerInput[] = []
  private fullDuplex: boolean
  private readonly dutyLimits: TransmitOptions['dutyLimits']
  private cancelQueue: Cancel = () => {}
  /** when what the modem was given is over */
  private endAtMs: number | undefined
  private cancelTime: Cancel = () => {}
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
      ...withoutMorse(transmit),
      access: { ...transmit.access, fullDuplex: true },
      random: options.random,
      durationMs: contentDurationMs,
      keyOverheadMs: 0,
      unkeyMarginMs: 0,
      irrevocable: true,
      past: options.past,
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
      onFrame: (octets) => this.heard(octets),
      onState: (lost) => this.modemChanged(lost),
      onSilent: (silent) => this.modemSilent(silent),
    })
    this.link.setParameters(this.access())
    this.drive({ kind: 'hold', source: modemSource, reason: notConnected })
  }

  send(request: TransmitRequest): void {
    this.drive({ kind: 'request', request })
  }

  withdraw(id: string): void {
    this.drive({ kind: 'withdraw', id })
  }

  sendTone({ id }: ToneRequest): void {
    const reason = 'an external modem can send no tones'
    this.tellOutcome({ id, kind: 'refused', atMs: this.clock.monotonicMs(), reason })
  }

  hold(source: string, reason: string): void {
    this.drive({ kind: 'hold', source, reason })
  }

  release(source: string): void {
    this.drive({ kind: 'release', source })
  }

  access(): ChannelAccess {
    return { ...this.controller.access(), fullDuplex: this.fullDuplex }
  }

  setAccess({ fullDuplex, ...change }: Partial<ChannelAccess>): void {
    this.drive({ kind: 'access', change })
    this.fullDuplex = fullDuplex ?? this.fullDuplex
    this.link.setParameters(this.access())
  }

  /** channelBusy is always false: the modem does not tell. */
  state(): PortState {
    const { idle: _, ...state } = this.controller.state(this.clock.monotonicMs())
    const { connected } = this.link
    const doubt = this.lostBy ?? this.link.doubt
    return { ...state, receiving: connected, channelBusy: false, ...(doubt && { doubt }) }
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
    this.drive({ kind: 'end', reason: 'the radio is being closed' })
    if (this.link.connected && !this.idle) {
      await new Promise<void>((resolve) => {
        this.onIdle = resolve
        this.clock.at(this.clock.monotonicMs() + closeMsMax, resolve)
      })
    }
    this.closed = true
    this.cancelTime()
    this.cancelRoom()
    this.cancelQueue()
    this.link.close()
  }

  /** Hands inputs to the controller, and what follows from them, until nothing does; listeners may call in between. */
  private drive(input: ControllerInput): void {
    if (this.closed) return
    this.inputs.push(input)
    if (this.inputs.length > 1) return
    for (let next = this.inputs[0]; next !== undefined; next = this.inputs[0]) {
      const actions = this.controller.handle(next, this.clock.monotonicMs())
      for (const action of actions) this.inputs.push(...this.perform(action))
      this.inputs.shift()
    }
    this.cancelTime()
    const nextMs = Math.min(this.controller.nextAtMs() ?? Infinity, this.endAtMs ?? Infinity)
    if (nextMs !== Infinity) this.cancelTime = this.clock.at(nextMs, () => this.timeCame())
    if (this.idle) this.onIdle()
  }

  private get idle(): boolean {
    return this.controller.state(this.clock.monotonicMs()).idle
  }

  private timeCame(): void {
    const nowMs = this.clock.monotonicMs()
    if (this.endAtMs === undefined || nowMs < this.endAtMs) {
      this.drive({ kind: 'time' })
      return
    }
    this.endAtMs = undefined
    this.drive({ kind: 'audioEnded' })
  }

  /** @returns what the controller must hear of it */
  private perform(action: ControllerAction): ControllerInput[] {
    const nowMs = this.clock.monotonicMs()
    switch (action.kind) {
      case 'key': {
        const trouble = this.handOver(action.content)
        if (trouble !== undefined) {
          this.waitForRoom(trouble)
          return [{ kind: 'unsent', source: modemSource, reason: trouble }]
        }
        this.endAtMs = nowMs + contentDurationMs(action.content)
        this.lostMeanwhile = undefined
        return [{ kind: 'keyed', atMs: nowMs }]
      }
      case 'play':
        return []
      case 'unkey':
        return [{ kind: 'unkeyed', atMs: nowMs }]
      case 'outcome': {
        const { outcome } = action
        const doubt = this.lostMeanwhile ?? this.link.doubt
        this.tellOutcome(outcome.kind === 'sent' && doubt ? { ...outcome, doubt } : outcome)
        return []
      }
      case 'event':
        this.report(action.event)
        return []
    }
  }

  /** All frames or none. @returns in words why the modem was not given them */
  private handOver(content: TransmissionContent): string | undefined {
    return content.kind === 'frames'
      ? this.link.sendFrames(content.frames)
      : 'an external modem can send frames only'
  }

  /** What waits, and an identification that is owed, would be tried again at once, for ever. */
  private waitForRoom(trouble: string): void {
    this.cancelRoom()
    this.cancelRoom = this.clock.at(this.clock.monotonicMs() + roomAgainMs, () => {
      if (!this.link.connected) return
      if (this.link.hasRoom) this.drive({ kind: 'release', source: modemSource })
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
      this.drive({ kind: 'release', source: modemSource })
      return
    }
    if (this.endAtMs !== undefined) this.lostMeanwhile = 'the modem was lost meanwhile'
    const given = this.endAtMs === undefined ? '' : '; what it was given last may not have gone out'
    // A modem that is away for weeks is told of once, not at every try.
    if (lost !== wasLostBy)
      this.report({ kind: 'fault', atMs, reason: `${notConnected}: ${lost}${given}` })
    this.drive({ kind: 'hold', source: modemSource, reason: notConnected })
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
function withoutMorse(transmit: TransmitOptions): TransmitOptions {
  const { morse: _, ...identification } = transmit.identification
  return { ...transmit, identification }
}
