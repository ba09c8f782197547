import {
  type ControllerDriver,
  createControllerDriver,
  type DeviceAction,
} from '../../src/radio/controllerDriver.js'
import type { ControllerInput, ControllerPast } from '../../src/radio/controllerTypes.js'
import type { Airtime, HeardFrame, PortState, TransmitRequest } from '../../src/radio/port.js'
import { RadioListeners } from '../../src/radio/radioListeners.js'
import type { ChannelAccess, RadioPort, ToneRequest } from '../../src/radio/radioPort.js'
import type { DutyReport } from '../../src/radio/radioWatch.js'
import type { TransmissionContent } from '../../src/radio/transmissionContent.js'
import { TransmitController } from '../../src/radio/transmitController.js'
import type { TransmitOptions } from '../../src/radio/transmitOptions.js'
import type { Cancel, Clock } from '../../src/runtime/clock.js'
import type { Random } from '../../src/runtime/random.js'
import type { Channel } from '../../src/simulation/channel.js'
import { frameSpans, frameTimesMs } from '../../src/simulation/frameTimes.js'

export interface FrameRadioOptions {
  /** of the radio's own thread: it ends with the process, and no disk stalls it */
  readonly clock: Clock
  readonly random: Random
  readonly channel: Channel
  readonly call: string
  readonly transmit: TransmitOptions
  readonly past: ControllerPast
  readonly watch: RadioWatch
}

/** Who sees what the radio really does. */
export interface RadioWatch {
  keyed(content: TransmissionContent, radio: FrameRadio): void
  /** @param whole the audio had ended */
  unkeyed(whole: boolean): void
  requested(request: TransmitRequest): void
  ended(id: string): void
  delivered(octets: Uint8Array, repairedBits: number): void
}

const keyMs = 5
const deafAfterMs = 1_000

/**
 * A radio on the simulated channel with the real transmit controller and its driver, in which devices fail: audio that stops,
 * stalls or slips, an output or a key-line helper that is gone.
 */
export class FrameRadio extends RadioListeners implements RadioPort {
  private readonly controller: TransmitController
  private readonly driver: ControllerDriver
  private content: TransmissionContent | undefined
  private cutAir: Cancel = () => {}
  private cancelEnd: Cancel = () => {}
  private readonly detach: () => void
  private onAir = false
  private closed = false
  private trueBusy = true
  private toldBusy = true
  private audioLost = false
  private stalled: (() => void)[] | undefined
  private slips: Random | undefined
  private lineLost = false
  /** since when no audio comes, monotonic */
  deafSinceMs: number | undefined
  readonly heldBy = new Set<string>()
  private onIdle = (): void => {}

  constructor(private readonly options: FrameRadioOptions) {
    super(0, 'radio 0', options.clock)
    const { channel, call, transmit, random, past, watch } = options
    this.controller = new TransmitController({
      ...transmit,
      random,
      durationMs: frameTimesMs,
      keyOverheadMs: 2 * keyMs,
      unkeyMarginMs: 2 * keyMs,
      past,
    })
    this.driver = createControllerDriver({
      controller: this.controller,
      clock: this.clock,
      guard: this.guard,
      perform: (action) => this.perform(action),
      onOutcome: (outcome) => {
        if (outcome.kind !== 'held') watch.ended(outcome.id)
        this.tellOutcome(outcome)
      },
      onEvent: (event) => this.report(event),
      onIdle: () => this.onIdle(),
    })
    const attached = channel.attach({
      name: call,
      heard: (octets) => this.hear(octets),
      busy: (busy) => {
        this.trueBusy = busy
        this.audio(() => this.tellBusy())
      },
    })
    this.detach = () => attached.detach()
  }

  /** carrier detect, as a receiver has it to which audio flows; undefined where none does */
  get hearsCarrier(): boolean | undefined {
    const flows = this.deafSinceMs === undefined && this.stalled === undefined
    return flows ? this.trueBusy : undefined
  }

  /** What the radio's own thread has thrown and caught. */
  get faultCount(): number {
    return this.guard.faultCount
  }

  send(request: TransmitRequest): void {
    this.options.watch.requested(request)
    this.drive({ kind: 'request', request })
  }
  withdraw(id: string): void {
    this.drive({ kind: 'withdraw', id })
  }
  sendTone(request: ToneRequest): void {
    this.drive({ kind: 'tone', request })
  }
  hold(source: string, reason: string): void {
    this.heldBy.add(source)
    this.drive({ kind: 'hold', source, reason })
  }
  release(source: string): void {
    this.heldBy.delete(source)
    this.drive({ kind: 'release', source })
  }
  access(): ChannelAccess {
    return this.controller.access()
  }
  setAccess(change: Partial<ChannelAccess>): void {
    this.drive({ kind: 'access', change })
  }
  state(): PortState {
    const { idle: _, ...state } = this.controller.state(this.clock.monotonicMs())
    return { ...state, receiving: this.deafSinceMs === undefined }
  }
  airtime(): Airtime {
    return this.controller.airtime(this.clock.monotonicMs())
  }

  duty(): DutyReport {
    return { limits: this.options.transmit.dutyLimits, ...this.controller.past() }
  }
  /** Nobody looks at it here. */
  protected onWish(): void {}

  /** In order: an identification that is owed goes out first. */
  async close(): Promise<void> {
    this.drive({ kind: 'end', reason: 'the radio is being closed' })
    await new Promise<void>((resolve) => {
      this.onIdle = resolve
      this.clock.at(this.clock.monotonicMs() + 12_000, resolve)
      if (this.driver.idle) resolve()
    })
    this.die()
  }

  /** The process is gone: the helper of the key line unkeys, and nothing is told to anybody. */
  die(): void {
    if (this.closed) return
    this.closed = true
    if (this.onAir) this.options.watch.unkeyed(false)
    this.onAir = false
    this.driver.stop()
    this.cutAir()
    this.cancelEnd()
    this.detach()
  }

  /** A frame comes as the receiver would give it. */
  hear(octets: Uint8Array, repairedBits = 0): void {
    if (this.audioLost) return
    if (this.slips !== undefined && this.slips() < 0.6) return
    this.audio(() => {
      const heardAtMs = this.clock.monotonicMs()
      const frame: HeardFrame = {
        ...{ octets, radio: 0, heardAtMs, heardAtWallMs: this.clock.wallMs() },
        ...{ repairedBits, detector: 'simulation' },
      }
      this.options.watch.delivered(octets, repairedBits)
      this.tellFrame(frame)
    })
  }

  setAudioLost(lost: boolean): void {
    if (this.closed || lost === this.audioLost) return
    this.audioLost = lost
    if (!lost) {
      if (this.deafSinceMs !== undefined)
        this.report({
          kind: 'recovered',
          atMs: this.clock.monotonicMs(),
          reason: 'the audio input flows',
        })
      this.deafSinceMs = undefined
      this.tellBusy()
      return
    }
    this.deafSinceMs = this.clock.monotonicMs()
    this.clock.at(this.deafSinceMs + deafAfterMs, () => {
      if (!this.audioLost) return
      this.tellFault('the audio input is silent: nothing came for a second')
      this.tellBusy()
    })
  }

  /** Audio comes late, all at once. */
  stallAudio(ms: number): void {
    if (this.stalled !== undefined) return
    this.stalled = []
    this.deafSinceMs ??= this.clock.monotonicMs()
    this.clock.at(this.clock.monotonicMs() + ms, () => {
      const late = this.stalled ?? []
      this.stalled = undefined
      if (!this.audioLost) this.deafSinceMs = undefined
      for (const take of late) take()
    })
  }

  setSlips(random: Random | undefined): void {
    this.slips = random
  }

  setOutputLost(lost: boolean): void {
    const source = 'audio output'
    if (lost) this.lose(source, 'the device is gone')
    else this.comeBack(source)
  }

  setLineLost(lost: boolean): void {
    this.lineLost = lost
    const source = 'key line'
    if (!lost) {
      this.comeBack(source)
      return
    }
    if (this.onAir) {
      this.endAir(false)
      const reason = 'the helper of the key line has ended'
      this.drive({ kind: 'unkeyed', atMs: this.clock.monotonicMs(), reason })
    }
    this.lose(source, 'the helper of the key line has ended')
  }

  private lose(source: string, reason: string): void {
    if (this.closed) return
    this.tellFault(`${source}: ${reason}`)
    this.hold(source, reason)
  }

  private comeBack(source: string): void {
    if (this.closed) return
    this.report({ kind: 'recovered', atMs: this.clock.monotonicMs(), reason: `${source} is ready` })
    this.release(source)
  }

  private audio(take: () => void): void {
    if (this.closed) return
    if (this.stalled === undefined) take()
    else this.stalled.push(take)
  }

  private tellBusy(): void {
    // Nothing comes that could tell: for a second what was told last stands.
    if (this.audioLost && !this.isDeaf()) return
    const busy = this.trueBusy || this.audioLost
    if (busy === this.toldBusy) return
    this.toldBusy = busy
    this.drive({ kind: 'channel', busy })
  }

  private isDeaf(): boolean {
    return this.clock.monotonicMs() >= (this.deafSinceMs ?? 0) + deafAfterMs
  }

  private drive(input: ControllerInput): void {
    if (!this.closed) this.driver.take(input)
  }

  private soon(ms: number, make: (atMs: number) => ControllerInput): Cancel {
    const atMs = this.clock.monotonicMs() + ms
    return this.clock.at(atMs, () => this.drive(make(atMs)))
  }

  private perform(action: DeviceAction): void {
    const { channel, call, watch } = this.options
    if (action.kind === 'key') {
      this.content = action.content
      if (this.lineLost) {
        const unsent = { kind: 'unsent', source: 'key line', reason: 'the helper is gone' } as const
        this.heldBy.add('key line')
        this.drive(unsent)
        return
      }
      this.onAir = true
      watch.keyed(action.content, this)
      this.soon(keyMs, (atMs) => ({ kind: 'keyed', atMs }))
    } else if (action.kind === 'play') {
      const lastsMs = frameTimesMs(this.content!)
      this.cutAir = channel.transmit(call, lastsMs, frameSpans(this.content!))
      this.cancelEnd = this.soon(lastsMs, () => ({ kind: 'audioEnded' }))
    } else {
      const whole = !action.cut
      if (!whole) {
        this.cutAir()
        this.cancelEnd()
      }
      this.clock.at(this.clock.monotonicMs() + keyMs, () => {
        this.endAir(whole)
        this.drive({ kind: 'unkeyed', atMs: this.clock.monotonicMs() })
      })
    }
  }

  private endAir(whole: boolean): void {
    if (!this.onAir) return
    this.onAir = false
    if (!whole) {
      this.cutAir()
      this.cancelEnd()
    }
    this.options.watch.unkeyed(whole)
  }
}
