import {
  type ControllerDriver,
  createControllerDriver,
  type DeviceAction,
} from '../radio/controllerDriver.js'
import type { ControllerInput } from '../radio/controllerTypes.js'
import type { Airtime, Port, PortState, TransmitRequest } from '../radio/port.js'
import { RadioListeners } from '../radio/radioListeners.js'
import type { ChannelAccess, RadioPort } from '../radio/radioPort.js'
import type { TransmissionContent } from '../radio/transmissionContent.js'
import { TransmitController } from '../radio/transmitController.js'
import type { Cancel, Clock } from '../runtime/clock.js'
import type { Random } from '../runtime/random.js'
import type { Channel } from './channel.js'
import { frameSpans, frameTimesMs } from './frameTimes.js'

export interface SimulatedRadioOptions {
  readonly clock: Clock
  readonly random: Random
  readonly channel: Channel
  /** also its name on the channel */
  readonly call: string
  readonly radio?: number
  /** share of a rolling 6 minutes that may be sent; default 1: no limit */
  readonly dutyShare?: number | undefined
  /** is given what changes its channel access, as a reload does */
  readonly onReady?: (radio: Pick<RadioPort, 'setAccess'>) => void
}

/** Between the decision and the key line, and back. */
const keyMs = 5
const keyDelayMs = 300
const tailMs = 30

/** What a simulated radio may send, and how long it takes. */
export const simulatedTransmit = (call: string, dutyShare: number) => ({
  enabled: true,
  call,
  // Values of the reference's chapter 3, as published: slots of 100 ms, p = 63.
  access: { keyDelayMs, tailMs, slotTimeMs: 100, persistence: 63, fullDuplex: false },
  timeOutMs: 8_000,
  dutyLimits: [{ share: dutyShare, windowMs: 360_000 }],
  reserveShare: 0.1,
  identification: { intervalMs: 540_000, quietMs: 60_000, destination: 'ID' },
  queueMax: 100,
  durationMs: frameTimesMs,
  keyOverheadMs: 2 * keyMs,
  unkeyMarginMs: 2 * keyMs,
})

export type SimulatedRadio = Port & Pick<RadioPort, 'onEvent'>

/**
 * A radio on the simulated channel: the real transmit controller and its driver, frames in place of audio. Frames take the time
 * that their bits, stuffing included, take at 1200 baud.
 */
export function simulatedRadio(options: SimulatedRadioOptions): SimulatedRadio {
  const radio = new OnChannel(options)
  options.onReady?.(radio)
  return {
    ...{ radio: radio.radio, name: radio.name },
    send: (request) => radio.send(request),
    withdraw: (id) => radio.withdraw(id),
    onFrame: (listener) => radio.onFrame(listener),
    onOutcome: (listener) => radio.onOutcome(listener),
    onEvent: (listener) => radio.onEvent(listener),
    state: () => radio.state(),
    airtime: () => radio.airtime(),
    close: () => radio.close(),
  }
}

class OnChannel extends RadioListeners implements SimulatedRadio {
  private readonly controller: TransmitController
  private readonly driver: ControllerDriver
  private readonly attached: ReturnType<Channel['attach']>
  private closed = false
  private lastBusy: boolean | undefined
  private content: TransmissionContent | undefined
  private cutAir: Cancel = () => {}
  private cancelEnd: Cancel = () => {}

  constructor(private readonly options: SimulatedRadioOptions) {
    const { call, channel, random } = options
    super(options.radio ?? 0, call, options.clock)
    this.controller = new TransmitController({
      ...simulatedTransmit(call, options.dutyShare ?? 1),
      random,
    })
    this.driver = createControllerDriver({
      ...{ controller: this.controller, clock: this.clock, guard: this.guard },
      perform: (action) => this.perform(action),
      // in a call of its own, as a radio's answer from its worker comes
      onOutcome: (outcome) => void this.after(0, () => this.tellOutcome(outcome)),
      onEvent: (event) => this.report(event),
    })
    this.attached = channel.attach({
      name: call,
      heard: (octets) => this.heard(octets),
      busy: (busy) => this.busy(busy),
    })
  }

  send(request: TransmitRequest): void {
    this.driver.take({ kind: 'request', request })
  }

  withdraw(id: string): void {
    this.driver.take({ kind: 'withdraw', id })
  }

  state(): PortState {
    const state = this.controller.state(this.clock.monotonicMs())
    return { receiving: true, ...state, faultCount: this.guard.faultCount }
  }

  airtime(): Airtime {
    return this.controller.airtime(this.clock.monotonicMs())
  }

  setAccess(change: Partial<ChannelAccess>): void {
    this.driver.take({ kind: 'access', change })
  }

  /** As a process that dies: the line goes off, what waited is gone, nobody is told. */
  async close(): Promise<void> {
    this.closed = true
    this.driver.stop()
    this.cutAir()
    this.cancelEnd()
    this.attached.detach()
  }

  /** Nobody can look at it. */
  protected onWish(): void {}

  private after(ms: number, run: () => void): Cancel {
    return this.clock.at(this.clock.monotonicMs() + ms, () => {
      if (!this.closed) run()
    })
  }

  private takeAfter(ms: number, make: (atMs: number) => ControllerInput): Cancel {
    const atMs = this.clock.monotonicMs() + ms
    return this.after(ms, () => this.driver.take(make(atMs)))
  }

  private perform(action: DeviceAction): void {
    switch (action.kind) {
      case 'key':
        this.content = action.content
        this.takeAfter(keyMs, (atMs) => ({ kind: 'keyed', atMs }))
        break
      case 'play': {
        const lastsMs = frameTimesMs(this.content!)
        const { channel, call } = this.options
        this.cutAir = channel.transmit(call, lastsMs, frameSpans(this.content!))
        this.cancelEnd = this.takeAfter(lastsMs, () => ({ kind: 'audioEnded' }))
        break
      }
      case 'unkey':
        if (action.cut) {
          this.cutAir()
          this.cancelEnd()
        }
        this.takeAfter(keyMs, (atMs) => ({ kind: 'unkeyed', atMs }))
    }
  }

  private heard(octets: Uint8Array): void {
    this.tellFrame({
      ...{ octets, radio: this.radio, repairedBits: 0, detector: 'simulation' },
      heardAtMs: this.clock.monotonicMs(),
      heardAtWallMs: this.clock.wallMs(),
    })
  }

  private busy(busy: boolean): void {
    if (busy !== this.lastBusy) this.driver.take({ kind: 'channel', busy })
    this.lastBusy = busy
  }
}
