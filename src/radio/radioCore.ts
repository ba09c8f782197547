import { type Modem, toneModem } from '../../dsp/modem/modems.js'
import type { ReceivedFrame, Receiver, ReceiverOptions } from '../../dsp/modem/receivedFrame.js'
import type { AudioSink, AudioSource } from '../audio/audioDevice.js'
import { createReopening, type Reopening, type Waits } from '../devices/reopening.js'
import type { KeyLine } from '../ptt/keyLine.js'
import type { Cancel, Clock } from '../runtime/clock.js'
import { Failure } from '../runtime/failure.js'
import type { Random } from '../runtime/random.js'
import { type ControllerDriver, createControllerDriver } from './controllerDriver.js'
import type { ControllerInput, ControllerPast } from './controllerTypes.js'
import { createDcBlock, type DcBlock } from './dcBlock.js'
import { owedAtClose } from './identification.js'
import type { Airtime, PortState, TransmitRequest } from './port.js'
import { RadioListeners } from './radioListeners.js'
import type { ChannelAccess, RadioPort, ToneRequest } from './radioPort.js'
import { createRadioScope, type RadioScope } from './radioScope.js'
import type { DutyReport, WatchWish } from './radioWatch.js'
import { SendingChain } from './sendingChain.js'
import { contentDurationMs } from './transmissionAudio.js'
import { TransmitController } from './transmitController.js'
import type { TransmitOptions } from './transmitOptions.js'

export interface RadioCoreOptions {
  readonly radio: number
  readonly name: string
  readonly clock: Clock
  readonly random: Random
  readonly source: AudioSource
  /** without one the radio only receives */
  readonly sink?: AudioSink | undefined
  readonly line: KeyLine
  /** of the bit rate that transmit names; that of 1200 bit/s where absent */
  readonly modem?: Modem | undefined
  readonly receiver: Omit<ReceiverOptions, 'sampleRateHz'>
  readonly transmit: TransmitOptions
  /** peak of the stronger tone below full scale, dB */
  readonly levelDbfs: number
  readonly toneBalanceDb: number
  /** most that the key line is on longer than the audio lasts */
  readonly keyOverheadMs: number
  /** most that passes between the decision to unkey and the line's being off */
  readonly unkeyMarginMs: number
  readonly past?: ControllerPast | undefined
  /**
   * Told when the line was cut by its guard. Nothing is keyed from then on until mayKeyAgain(); where it is absent, nobody
   * is asked.
   */
  readonly onCut?: ((reason: string) => void) | undefined
  /** Told when the channel has become busy or free. */
  readonly onChannel?: (() => void) | undefined
}

/** One radio: receiver, transmit controller, key line and audio, on one clock. */
export interface RadioCore extends RadioPort {
  /** Unkeys, silences, and then listens. Listeners should be there by now. */
  start(): void
  /** Lets it go on after a cut. */
  mayKeyAgain(): void
  /** what the next life of this radio must know */
  past(): ControllerPast
  /** nothing waits, nothing is on the air, and no identification is owed */
  readonly idle: boolean
}

export const createRadioCore = (options: RadioCoreOptions): RadioCore => new Core(options)

/** So long after something was last sent, or waited, audio is gathered into pieces of such lengths. */
const calmAfterMs = 500
/** So long after something was last sent, or waited, an exchange may be under way: what is heard in it is wanted soon. */
const exchangeMs = 30_000
/**
 * Each piece wakes the thread, whose caches are cold by then: with pieces of 60 ms throughout, a live radio took three times what
 * `decode` takes. In the pieces of a calm channel nothing is lost; what is heard in them is known so much later at most.
 */
const gatherMs = { calm: 400, inExchange: 60 }
/** Without a block for that long the receiver is deaf: a channel that nobody hears counts as busy. */
const deafAfterMs = 1000
/** How often that is put off while blocks come. */
const bookAgainMs = 350
/** A signal that is there when we can hear again is noticed by then. */
const noticedWithinMs = 150
/** An output that could not be opened is tried again after that long, doubled each time up to the limit. */
const prepareAgainMs: Waits = { first: 1000, longest: 30_000 }
/** At the end: for a running transmission and the identification that is owed. */
const closeWaitMs = 12_000

class Core extends RadioListeners implements RadioCore {
  private receiver: Receiver
  private readonly dcBlock: DcBlock
  private readonly isToneModem: boolean
  private readonly controller: TransmitController
  private readonly driver: ControllerDriver
  private readonly chain: SendingChain
  /** there while somebody looks */
  private scope: RadioScope | undefined
  private sampleCount = 0
  private blockAtMs = 0
  private channelBusy = true
  private receiving = false
  private gatheredMs = 0
  /** when something waited to be sent, or was */
  private sendingAtMs = Number.NEGATIVE_INFINITY
  /** when our transmitter was last off, its hang included */
  private offAtMs = Number.NEGATIVE_INFINITY
  private closing = false
  /** why the key line or the output is away, by its name */
  private readonly lostBy = new Map<string, string>()
  private closed = false
  private onIdle = (): void => {}
  private cancelDeaf: Cancel = () => {}
  private deafBookedMs = 0
  private readonly prepareAgain: Reopening

  constructor(private readonly options: RadioCoreOptions) {
    super(options.radio, options.name, options.clock)
    const { source, sink, line } = options
    this.receiver = this.newReceiver()
    this.dcBlock = createDcBlock(source.sampleRateHz)
    this.isToneModem = (options.modem ?? toneModem).bitRate === 1200
    this.controller = new TransmitController({
      ...options.transmit,
      random: options.random,
      durationMs: contentDurationMs,
      keyOverheadMs: options.keyOverheadMs,
      unkeyMarginMs: options.unkeyMarginMs,
      refusal: sink === undefined ? 'there is no audio output (audio.output)' : undefined,
      past: options.past,
    })
    this.driver = createControllerDriver({
      controller: this.controller,
      clock: this.clock,
      guard: this.guard,
      perform: (action) => this.chain.perform(action),
      onOutcome: (outcome) => this.tellOutcome(outcome),
      onEvent: (event) => {
        if (event.kind === 'unkeyed') this.offAtMs = event.atMs
        this.report(event)
      },
      onIdle: () => this.onIdle(),
    })
    this.prepareAgain = createReopening(this.clock, prepareAgainMs, () => {
      if (sink !== undefined) void this.prepare(sink)
    })
    this.chain = new SendingChain({
      line,
      sink,
      peakLevel: 10 ** (options.levelDbfs / 20),
      toneBalanceDb: options.toneBalanceDb,
      modem: options.modem ?? toneModem,
      onInput: (input) => {
        if (input.kind === 'audioEnded') this.prepareAgain.sound()
        this.drive(input)
      },
      onFault: (reason) => this.tellFault(reason),
      onSinkLost: (error) => this.sinkLost(error),
    })
  }

  start(): void {
    const { line, sink, source } = this.options
    // The line first: it may have been left on.
    this.drive({ kind: 'hold', source: lineSource, reason: 'not ready yet' })
    line.open({
      onReady: () => this.ready(lineSource),
      onLost: (failure) => this.lost(lineSource, failure),
      onCut: (atMs, reason) => this.cutByGuard(atMs, reason),
      onFault: (reason) => this.tellFault(reason),
    })
    this.chain.warmUp()
    if (sink !== undefined) {
      this.drive({ kind: 'hold', source: sinkSource, reason: 'not ready yet' })
      sink.stop()
      void this.prepare(sink)
    }
    source.open({
      onBlock: this.guard.listener('audio that came', (block: Float32Array) => this.take(block)),
      onFault: (failure) => this.tellFault(`audio input: ${failure.message}`),
      onEnd: () => this.deaf('the audio input has ended'),
    })
  }

  mayKeyAgain(): void {
    this.drive({ kind: 'release', source: guardSource })
  }

  send(request: TransmitRequest): void {
    this.drive({ kind: 'request', request })
  }

  withdraw(id: string): void {
    this.drive({ kind: 'withdraw', id })
  }

  sendTone(request: ToneRequest): void {
    this.drive({ kind: 'tone', request })
  }

  hold(source: string, reason: string): void {
    this.drive({ kind: 'hold', source, reason })
  }

  release(source: string): void {
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
    return { ...state, receiving: this.receiving, faultCount: this.guard.faultCount }
  }

  airtime(): Airtime {
    return this.controller.airtime(this.clock.monotonicMs())
  }

  past(): ControllerPast {
    return this.controller.past()
  }

  duty(): DutyReport {
    return { limits: this.options.transmit.dutyLimits, ...this.controller.past() }
  }

  protected onWish(wish: WatchWish | undefined): void {
    this.scope =
      wish &&
      createRadioScope({
        ...{ clock: this.clock, sampleRateHz: this.options.source.sampleRateHz, wish },
        isKeyed: () => this.controller.isKeyed(),
        receiver: () => this.receiver,
        waiting: () => this.controller.waiting(),
        tell: (report) => this.watchers.tell(report),
      })
    this.scope?.carrier(this.channelBusy)
  }

  get idle(): boolean {
    return this.driver.idle
  }

  async close(): Promise<void> {
    if (this.closing) return
    this.closing = true
    this.drive({ kind: 'end', reason: 'the radio is being closed' })
    await this.untilIdle(closeWaitMs)
    this.drive({ kind: 'cut', reason: 'the radio is being closed' })
    const { line, sink, source } = this.options
    sink?.stop()
    await line.close()
    // The line is off now, whether it has told so or not: what was on the air hears its fate.
    this.drive({ kind: 'unkeyed', atMs: this.clock.monotonicMs() })
    await this.untilIdle(this.options.transmit.hangMs ?? 0)
    const owed = owedAtClose(this.controller, this.clock.monotonicMs())
    if (owed !== undefined) this.tellFault(owed)
    this.closed = true
    this.driver.stop()
    this.cancelDeaf()
    this.prepareAgain.cancel()
    await Promise.all([sink?.close(), source.close()])
  }

  private async untilIdle(msMax: number): Promise<void> {
    if (this.idle) return
    let cancel: Cancel = () => {}
    await new Promise<void>((resolve) => {
      this.onIdle = resolve
      cancel = this.clock.at(this.clock.monotonicMs() + msMax, resolve)
    })
    cancel()
  }

  /** Who was away while his line was cut must not go on with what he had in mind before he is told that he may. */
  private cutByGuard(atMs: number, reason: string): void {
    const { onCut } = this.options
    const heldBy = onCut && guardSource
    this.drive({ kind: 'unkeyed', atMs, reason, heldBy })
    onCut?.(reason)
  }

  private drive(input: ControllerInput): void {
    if (input.kind === 'request' || input.kind === 'tone') this.lookAtChannel()
    this.driver.take(input)
  }

  /** While audio is gathered, nobody knows what the channel is now: it counts as busy until the next block, which is fetched. */
  private lookAtChannel(): void {
    this.sendingAtMs = this.clock.monotonicMs()
    if (this.gatheredMs > 0) this.setChannelBusy(true)
    this.gather(0)
  }

  /** Audio is fetched seldom while carrier detect decides nothing: nothing is sent, and nothing waits. */
  private pace(nowMs: number): void {
    if (this.controller.isKeyed()) this.sendingAtMs = nowMs
    const sinceMs = nowMs - this.sendingAtMs
    const isCalm = sinceMs >= calmAfterMs
    const isSoon = this.channelBusy && sinceMs < exchangeMs
    if (isCalm && !this.idle) this.sendingAtMs = nowMs
    else this.gather(!isCalm ? 0 : isSoon ? gatherMs.inExchange : gatherMs.calm)
  }

  private gather(ms: number): void {
    const { source } = this.options
    if (ms === this.gatheredMs || source.gather === undefined) return
    this.gatheredMs = ms
    source.gather(ms)
  }

  private take(block: Float32Array): void {
    const nowMs = this.clock.monotonicMs()
    this.watchFlow(nowMs)
    const deafened = this.controller.isKeyed() && !this.controller.access().fullDuplex
    // Our own transmission is no signal of others; silence in its place keeps the count of samples.
    const listened = deafened ? new Float32Array(block.length) : block
    const { isToneModem } = this
    // What looks at levels, and 9600 bit/s, want a converter's offset gone; the receiver of tones takes it out itself.
    const centred = isToneModem && !this.scope ? listened : this.dcBlock(listened)
    const heard = this.received(isToneModem ? listened : centred)
    this.sampleCount += block.length
    this.guard.call('looking at the audio', () =>
      this.scope?.push(centred, this.sampleCount, heard),
    )
    const { sampleRateHz } = this.options.source
    for (const { octets, lastSample, repairedBits, code, detector, quality } of heard) {
      const agoMs = ((this.sampleCount - lastSample) * 1000) / sampleRateHz
      const heardAtMs = nowMs - agoMs
      const heardAtWallMs = this.clock.wallMs() - agoMs
      const frame = { octets, radio: this.radio, heardAtMs, heardAtWallMs, repairedBits }
      this.tellFrame({ ...frame, ...(code && { code }), detector, quality })
    }
    this.setChannelBusy(this.receiver.channelBusy)
    this.pace(nowMs)
  }

  /** Audio that a detector cannot stand must not make the radio deaf for good. */
  private received(block: Float32Array): ReceivedFrame[] {
    const frames = this.guard.call('audio that was received', () => this.receiver.push(block))
    if (frames !== undefined) return frames
    this.receiver = this.newReceiver()
    this.sampleCount = -block.length
    return []
  }

  private newReceiver(): Receiver {
    const { receiver, source, modem = toneModem } = this.options
    return modem.createReceiver({ ...receiver, sampleRateHz: source.sampleRateHz })
  }

  private watchFlow(nowMs: number): void {
    this.blockAtMs = nowMs
    if (this.receiving) {
      if (nowMs - this.deafBookedMs >= bookAgainMs) this.watchDeaf()
      return
    }
    this.receiving = true
    this.watchDeaf()
    this.report({ kind: 'recovered', atMs: nowMs, reason: 'the audio input flows' })
  }

  /**
   * Looks when the last block will be too old. A timer for each block would cost more than the block, and one that rings while
   * audio flows wakes the thread for nothing.
   */
  private watchDeaf(): void {
    this.cancelDeaf()
    this.deafBookedMs = this.blockAtMs
    const dueMs = this.blockAtMs + deafAfterMs
    this.cancelDeaf = this.clock.at(dueMs, () => {
      const isDue = this.clock.monotonicMs() >= this.blockAtMs + deafAfterMs
      if (isDue) this.deaf('the audio input is silent: nothing came for a second')
      else this.watchDeaf()
    })
  }

  private deaf(reason: string): void {
    this.cancelDeaf()
    if (this.closed || !this.receiving) return
    this.receiving = false
    this.tellFault(reason)
    this.setChannelBusy(true)
  }

  private setChannelBusy(busy: boolean): void {
    if (busy === this.channelBusy) return
    this.channelBusy = busy
    this.scope?.carrier(busy)
    if (busy) this.tellUnheard()
    this.drive({ kind: 'channel', busy })
    this.options.onChannel?.()
  }

  /** A frame's begin is lost, and the frame with it: whoever looks for the reason of a silence must find this one. */
  private tellUnheard(): void {
    const { hangMs = 0 } = this.options.transmit
    const atMs = this.clock.monotonicMs()
    if (hangMs === 0 || atMs - this.offAtMs > noticedWithinMs) return
    if (this.controller.state(atMs).keyed || this.controller.access().fullDuplex) return
    const reason = `somebody was sending already when our hang of ${hangMs} ms ended: what began in it was not heard`
    this.report({ kind: 'unheard', atMs, reason })
  }

  private async prepare(sink: AudioSink): Promise<void> {
    try {
      await sink.prepare()
      if (!this.closed) this.ready(sinkSource)
    } catch (error) {
      this.sinkLost(error)
    }
  }

  /** Without audio nothing is keyed: what waits, and an identification that is owed, would key a bare carrier each time. */
  private sinkLost(error: unknown): void {
    const { sink } = this.options
    if (this.closed || sink === undefined) return
    this.lost(sinkSource, error as Error)
    this.prepareAgain.later()
  }

  private ready(source: string): void {
    this.lostBy.delete(source)
    this.report({ kind: 'recovered', atMs: this.clock.monotonicMs(), reason: `${source} is ready` })
    this.drive({ kind: 'release', source })
  }

  private lost(source: string, failure: Error): void {
    // A device that stays away for weeks is told of once, not at every try.
    if (this.lostBy.get(source) !== failure.message) this.tellFault(failure.message)
    this.lostBy.set(source, failure.message)
    // The fault has said all: what is held, and why, in short.
    const reason = failure instanceof Failure ? failure.inShort : failure.message
    this.drive({ kind: 'hold', source, reason })
  }
}

/** Who holds while a device is not ready. */
const lineSource = 'key line'
const sinkSource = 'audio output'
/** Who holds after a cut by the line's guard. */
const guardSource = 'guard of the key line'
