import { Worker } from 'node:worker_threads'
import { createReopening, type Reopening, type Waits } from '../devices/reopening.js'
import { firstLines } from '../ptt/helperProtocol.js'
import { type Cancel, type Clock, every } from '../runtime/clock.js'
import { errorText } from '../runtime/errorText.js'
import { entryFile } from '../runtime/installation.js'
import { airtime, reserveOf } from './airtime.js'
import { type ContentPlan, createContentPlan } from './contentPlan.js'
import type { ControllerPast } from './controllerTypes.js'
import { createDutyLedger } from './dutyLedger.js'
import { checkIdentificationFits } from './identificationFits.js'
import type { Airtime, PortState, TransmitOutcome, TransmitRequest } from './port.js'
import type { RadioEvent } from './radioEvent.js'
import { RadioListeners } from './radioListeners.js'
import type { ChannelAccess, RadioPort, ToneRequest } from './radioPort.js'
import type { DutyReport, WatchWish } from './radioWatch.js'
import { keyOverheadMs, unkeyMarginMs } from './soundCardTiming.js'
import { contentDurationMs } from './transmissionAudio.js'
import type { FromWorker, RadioSetup, ToWorker, WorkerStart } from './workerMessages.js'

export interface SoundCardRadioOptions {
  readonly setup: RadioSetup
  readonly clock: Clock
  /** the compiled worker; the one beside this file by default */
  readonly workerFile?: string | undefined
  /** what the thread and its child processes see; the process's own by default */
  readonly env?: NodeJS.ProcessEnv | undefined
  /** what an earlier process did with this radio: its duty limits go on */
  readonly past?: ControllerPast | undefined
}

/** A radio in a worker thread of its own, seen from the main thread. */
export interface SoundCardRadio extends RadioPort {
  /** Starts the thread; listeners should be there by now. */
  start(): void
  /** when its thread told something last, monotonic; it does so every two seconds. Its start, as long as it told nothing. */
  lifeSignAtMs(): number
}

/**
 * The thread's end of things is radioCore.ts. A thread that dies or hangs is reported, its key line is released by the dead-man
 * helper, what it had not finished is refused, and a new one goes on with its limits and what it owed.
 * @throws Failure 'identification-too-long'
 */
export function createSoundCardRadio(options: SoundCardRadioOptions): SoundCardRadio {
  checkIdentificationFits(options.setup.transmit, { keyOverheadMs, unkeyMarginMs })
  return new WorkerRadio(options)
}

const restartMs: Waits = { first: 1000, longest: 60_000 }
/** A thread that lived that long starts afresh with the shortest wait. */
const healthyMs = 60_000
/** After its line was cut a thread may key again so much later; doubled with each cut, up to the longest wait for a new thread. */
const cutRestMsMin = 1000
const lifeCheckMs = 5000
/** So many checks in a row without a message: the thread hangs. */
const checksMissedMax = 2
const closeMsMax = 20_000
/** Of one thread's standard error. */
const threadLinesMax = 20
/** What the dead-man may take to release the line of a thread that died. */
const deadManMs = 250

/**
 * For what lives as long as a block of audio. V8 would take 7 MB more for each thread: what a radio keeps
 * lies in arrays outside of its heap.
 */
const youngMbMax = 2

class WorkerRadio extends RadioListeners implements SoundCardRadio {
  /** requests without a final outcome */
  private readonly pending = new Set<string>()
  /** holds set from here: a new thread must know them */
  private readonly holds = new Map<string, string>()
  /** what things take, as its thread reckons */
  private readonly plan: ContentPlan
  private worker: Worker | undefined
  private past: ControllerPast | undefined
  private keyedSinceMs: number | undefined
  private lastState: PortState
  private lastAccess: ChannelAccess
  private startedMs = 0
  private toldAtMs: number
  private closing = false
  private messageSeen = true
  private checksMissed = 0
  private lastCutMs = Number.NEGATIVE_INFINITY
  private cutRestMs = cutRestMsMin
  private cancelCutRest: Cancel = () => {}
  private readonly restarting: Reopening
  private cancelChecks: Cancel = () => {}

  constructor(private readonly options: SoundCardRadioOptions) {
    super(options.setup.radio, options.setup.name, options.clock)
    const { setup } = options
    this.toldAtMs = this.clock.monotonicMs()
    this.lastAccess = setup.transmit.access
    this.plan = createContentPlan({
      ...{ ...setup.transmit, durationMs: contentDurationMs },
      ...{ keyOverheadMs, unkeyMarginMs },
    })
    this.lastState = this.downState('the radio is starting')
    this.past = options.past
    this.restarting = createReopening(this.clock, restartMs, () => {
      this.event('recovered', `the radio's thread is started again`)
      this.startWorker()
    })
  }

  start(): void {
    this.cancelChecks = every(this.clock, lifeCheckMs, () => this.checkLife())
    this.toldAtMs = this.clock.monotonicMs()
    this.startWorker()
  }

  lifeSignAtMs(): number {
    return this.toldAtMs
  }

  send(request: TransmitRequest): void {
    this.submit(request.id, { type: 'send', request })
  }

  withdraw(id: string): void {
    if (this.pending.has(id)) this.post({ type: 'withdraw', id })
  }

  sendTone(request: ToneRequest): void {
    this.submit(request.id, { type: 'tone', request })
  }

  hold(source: string, reason: string): void {
    this.holds.set(source, reason)
    this.post({ type: 'hold', source, reason })
  }

  release(source: string): void {
    this.holds.delete(source)
    this.post({ type: 'release', source })
  }

  access(): ChannelAccess {
    return this.lastAccess
  }

  setAccess(change: Partial<ChannelAccess>): void {
    this.lastAccess = { ...this.lastAccess, ...change }
    this.post({ type: 'access', change })
  }

  /** With what was caught in this thread besides. */
  state(): PortState {
    const faultCount = (this.lastState.faultCount ?? 0) + this.guard.faultCount
    return { ...this.lastState, faultCount }
  }

  /** As of the last transmission that its thread has reported. */
  airtime(): Airtime {
    const limits = this.options.setup.transmit.dutyLimits
    const { plan, clock } = this
    const ledger = createDutyLedger(limits, this.past?.spans)
    const reserveMs = reserveOf(this.options.setup.transmit)
    return airtime({ limits, ledger, plan, reserveMs, nowMs: clock.monotonicMs() })
  }

  /** As of the last transmission that its thread has reported. */
  duty(): DutyReport {
    return { limits: this.options.setup.transmit.dutyLimits, spans: [], ...this.past }
  }

  protected onWish(wish: WatchWish | undefined): void {
    this.post({ type: 'watch', wish })
  }

  async close(): Promise<void> {
    this.closing = true
    this.cancelChecks()
    this.restarting.cancel()
    this.cancelCutRest()
    const worker = this.worker
    if (worker === undefined) return
    const gone = new Promise<void>((resolve) => worker.once('exit', () => resolve()))
    this.post({ type: 'close' })
    const cancel = this.clock.at(this.clock.monotonicMs() + closeMsMax, () => {
      void worker.terminate()
    })
    await gone
    cancel()
  }

  private startWorker(): void {
    const { options } = this
    const file = options.workerFile ?? entryFile('worker')
    const transmit = { ...options.setup.transmit, access: this.lastAccess }
    const workerData: WorkerStart = { setup: { ...options.setup, transmit }, past: this.past }
    const env = options.env ?? process.env
    // A FIFO that was opened is closed by its socket, which the thread's own list of files does not see: Node would warn.
    const worker = new Worker(file, {
      ...{ workerData, env, stderr: true, trackUnmanagedFds: false },
      resourceLimits: { maxYoungGenerationSizeMb: youngMbMax },
    })
    this.worker = worker
    this.startedMs = this.clock.monotonicMs()
    this.messageSeen = true
    this.checksMissed = 0
    let how = ''
    // What Node itself says of the thread.
    const tellLine = (line: string): void => this.event('fault', `its thread: ${line}`)
    worker.stderr.on('data', firstLines(threadLinesMax, tellLine))
    const hear = (message: FromWorker): void => this.hear(message)
    worker.on('message', this.guard.listener(`what the radio's thread tells`, hear))
    worker.on('error', (error) => {
      how = errorText(error)
    })
    worker.on('exit', (status) => {
      if (this.worker === worker) this.gone(how === '' ? `status ${status}` : how)
    })
    for (const [source, reason] of this.holds) this.post({ type: 'hold', source, reason })
    if (this.watchers.wish !== undefined) this.onWish(this.watchers.wish)
  }

  private hear(message: FromWorker): void {
    this.messageSeen = true
    this.toldAtMs = this.clock.monotonicMs()
    switch (message.type) {
      case 'frame':
        this.tellFrame(message.frame)
        break
      case 'outcome':
        this.outcome(message.outcome)
        break
      case 'event':
        if (message.event.kind === 'keyed') this.keyedSinceMs = message.event.atMs
        if (message.event.kind === 'unkeyed') this.keyedSinceMs = undefined
        this.tellEvent(message.event)
        break
      case 'state':
        this.lastState = message.state
        this.lastAccess = message.access
        this.plan.change(message.access, false)
        break
      case 'past':
        this.past = message.past
        break
      case 'reports':
        for (const report of message.reports) this.watchers.tell(report)
        break
      case 'cut':
        this.afterCut()
    }
  }

  /** The thread is awake again, or it could not tell; a machine that starved it will do so again if nothing changes. */
  private afterCut(): void {
    const worker = this.worker
    const nowMs = this.clock.monotonicMs()
    if (nowMs - this.lastCutMs > healthyMs + this.cutRestMs) this.cutRestMs = cutRestMsMin
    this.lastCutMs = nowMs
    this.cancelCutRest()
    this.cancelCutRest = this.clock.at(nowMs + this.cutRestMs, () => {
      if (this.worker === worker && !this.closing) this.post({ type: 'mayKey' })
    })
    this.cutRestMs = Math.min(2 * this.cutRestMs, restartMs.longest)
  }

  private gone(how: string): void {
    this.worker = undefined
    const atMs = this.clock.monotonicMs()
    const reason = this.closing ? 'the radio is being closed' : `the radio's thread ended: ${how}`
    this.lastState = this.downState(reason)
    for (const id of [...this.pending]) this.outcome({ id, kind: 'refused', atMs, reason })
    if (this.closing) return
    if (this.keyedSinceMs !== undefined) {
      const { hangMs = 0 } = this.options.setup.transmit
      const span = { fromMs: this.keyedSinceMs, toMs: atMs + deadManMs + hangMs }
      const owedSinceMs = this.past?.owedSinceMs ?? span.fromMs
      this.past = { spans: [...(this.past?.spans ?? []), span], owedSinceMs }
      this.keyedSinceMs = undefined
    }
    this.event('fault', reason)
    if (atMs - this.startedMs > healthyMs) this.restarting.sound()
    this.restarting.later()
  }

  private checkLife(): void {
    if (this.worker === undefined) return
    this.checksMissed = this.messageSeen ? 0 : this.checksMissed + 1
    this.messageSeen = false
    if (this.checksMissed < checksMissedMax) return
    this.event('fault', `the radio's thread hangs`)
    void this.worker.terminate()
  }

  private submit(id: string, message: ToWorker): void {
    const isAway = this.worker === undefined || this.closing
    this.pending.add(id)
    if (!isAway && this.post(message)) return
    const reason = isAway
      ? (this.lastState.transmitBlockedBy ?? 'the radio is being closed')
      : 'a fault of the program'
    this.outcome({ id, kind: 'refused', atMs: this.clock.monotonicMs(), reason })
  }

  /** @returns false when it cannot be told to a thread at all */
  private post(message: ToWorker): boolean {
    const isDone = this.guard.call(`a message to the radio's thread`, () => {
      this.worker?.postMessage(message)
      return true
    })
    return isDone ?? false
  }

  private outcome(outcome: TransmitOutcome): void {
    if (outcome.kind !== 'held') this.pending.delete(outcome.id)
    this.tellOutcome(outcome)
  }

  private event(kind: RadioEvent['kind'], reason: string): void {
    this.report({ kind, reason, atMs: this.clock.monotonicMs() })
  }

  private downState(reason: string): PortState {
    return {
      receiving: false,
      channelBusy: true,
      keyed: false,
      transmitBlockedBy: reason,
      queuedCount: 0,
      dutyUsed: this.lastState?.dutyUsed ?? 0,
    }
  }
}
