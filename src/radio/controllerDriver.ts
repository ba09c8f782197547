import type { Cancel, Clock } from '../runtime/clock.js'
import type { Guard } from '../runtime/guard.js'
import type { ControllerAction, ControllerEvent, ControllerInput } from './controllerTypes.js'
import type { TransmitOutcome } from './port.js'
import type { TransmitController } from './transmitController.js'

/** What a controller wants done with a transmitter. */
export type DeviceAction = Extract<ControllerAction, { kind: 'key' | 'play' | 'unkey' }>

export interface ControllerDriverOptions {
  readonly controller: Pick<TransmitController, 'handle' | 'nextAtMs' | 'state'>
  readonly clock: Clock
  readonly guard: Guard
  /** Does it, and tells the driver what comes of it: at once, or later. */
  readonly perform: (action: DeviceAction) => void
  readonly onOutcome: (outcome: TransmitOutcome) => void
  readonly onEvent: (event: ControllerEvent) => void
  /** nothing is on the air, nothing waits, and no identification is owed */
  readonly onIdle?: (() => void) | undefined
}

/** Runs a transmit controller on a clock: its inputs one after the other, its actions in their order, and its moments. */
export interface ControllerDriver {
  /** Listeners and devices may call it while an earlier input is being dealt with: theirs comes after that. */
  take(input: ControllerInput): void
  readonly idle: boolean
  /** From now on nothing is taken, and no moment comes. */
  stop(): void
}

/**
 * Whatever throws, no input is lost, the line is not left on, and a request still gets its outcome: what runs is cut, and
 * the request that did it is refused.
 */
export const createControllerDriver = (options: ControllerDriverOptions): ControllerDriver =>
  new Driver(options)

class Driver implements ControllerDriver {
  /** the first is being dealt with */
  private readonly inputs: ControllerInput[] = []
  private cancelTime: Cancel = () => {}
  private stopped = false

  constructor(private readonly options: ControllerDriverOptions) {}

  take(input: ControllerInput): void {
    if (this.stopped) return
    this.inputs.push(input)
    if (this.inputs.length > 1) return
    for (let next = this.inputs[0]; next !== undefined; next = this.inputs[0]) {
      this.step(next)
      this.inputs.shift()
    }
    this.bookTime()
    const { guard, onIdle } = this.options
    if (onIdle !== undefined && this.idle) guard.call('an idle radio', onIdle)
  }

  get idle(): boolean {
    const { clock, controller } = this.options
    const { idle, queuedCount } = controller.state(clock.monotonicMs())
    return idle && queuedCount === 0
  }

  stop(): void {
    this.stopped = true
    this.inputs.length = 0
    this.cancelTime()
  }

  private step(input: ControllerInput): void {
    const { clock, controller, guard } = this.options
    const actions = guard.call(`the transmit controller, at ${input.kind}`, () =>
      controller.handle(input, clock.monotonicMs()),
    )
    if (actions === undefined) this.recover(input)
    else for (const action of actions) this.perform(action)
  }

  private perform(action: ControllerAction): void {
    const { guard, onEvent, onOutcome, perform } = this.options
    if (action.kind === 'outcome') onOutcome(action.outcome)
    else if (action.kind === 'event') onEvent(action.event)
    else {
      const isDone = guard.call(`the transmitter, at ${action.kind}`, () => {
        perform(action)
        return true
      })
      // To unkey is asked for again by the controller itself.
      if (!isDone && action.kind !== 'unkey') this.cut()
    }
  }

  /** The controller threw: what it wanted done is not known. */
  private recover(input: ControllerInput): void {
    if (input.kind === 'cut') this.perform({ kind: 'unkey', cut: true })
    else this.cut()
    if (input.kind === 'request' || input.kind === 'tone') this.refuse(input.request.id)
  }

  /** It may be in the queue, or not. */
  private refuse(id: string): void {
    const { clock, controller, guard, onOutcome } = this.options
    const atMs = clock.monotonicMs()
    const withdraw = { kind: 'withdraw', id } as const
    const actions = guard.call('a request', () => controller.handle(withdraw, atMs)) ?? []
    for (const action of actions) this.perform(action)
    if (!actions.some((action) => action.kind === 'outcome' && action.outcome.id === id))
      onOutcome({ id, kind: 'refused', atMs, reason: programFault })
  }

  private cut(): void {
    this.inputs.push({ kind: 'cut', reason: programFault })
  }

  private bookTime(): void {
    const { clock, controller, guard } = this.options
    this.cancelTime()
    if (this.stopped) return
    const nextMs = guard.call('the next moment of the transmit controller', () =>
      controller.nextAtMs(),
    )
    this.cancelTime =
      nextMs === undefined ? () => {} : clock.at(nextMs, () => this.take({ kind: 'time' }))
  }
}

const programFault = 'a fault of the program'
