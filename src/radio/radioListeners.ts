import type { Cancel, Clock } from '../runtime/clock.js'
import { createGuard, type Guard, guardedClock } from '../runtime/guard.js'
import type { ControllerEvent } from './controllerTypes.js'
import type { HeardFrame, TransmitOutcome } from './port.js'
import type { RadioEvent } from './radioEvent.js'
import { createWatchers, type RadioReport, type Watchers, type WatchWish } from './radioWatch.js'

/**
 * Who listens to a radio: the part of RadioPort that is the same for every kind of radio. What a listener throws is counted,
 * told as a fault of this radio, and reaches neither the radio nor other listeners.
 */
export abstract class RadioListeners {
  /** every call booked on it is guarded */
  protected readonly clock: Clock
  protected readonly guard: Guard
  protected readonly watchers: Watchers = createWatchers((wish) => this.onWish(wish))
  private readonly frameListeners: ((frame: HeardFrame) => void)[] = []
  private readonly outcomeListeners: ((outcome: TransmitOutcome) => void)[] = []
  private readonly eventListeners: ((event: RadioEvent) => void)[] = []

  constructor(
    readonly radio: number,
    readonly name: string,
    clock: Clock,
  ) {
    this.guard = createGuard(({ what, reason }) => this.tellFault(`${what}: ${reason}`))
    this.clock = guardedClock(clock, this.guard)
  }

  onFrame(listener: (frame: HeardFrame) => void): void {
    this.frameListeners.push(listener)
  }

  onOutcome(listener: (outcome: TransmitOutcome) => void): void {
    this.outcomeListeners.push(listener)
  }

  onEvent(listener: (event: RadioEvent) => void): void {
    this.eventListeners.push(listener)
  }

  watch(wish: WatchWish | undefined, listener: (report: RadioReport) => void): Cancel {
    return this.watchers.add(wish, this.guard.listener('what is told to those who look', listener))
  }

  /** Those who look want something else than before; undefined: nobody looks any more. */
  protected abstract onWish(wish: WatchWish | undefined): void

  protected tellFrame(frame: HeardFrame): void {
    for (const listener of this.frameListeners)
      this.guard.call('a frame that was heard', () => listener(frame))
  }

  protected tellOutcome(outcome: TransmitOutcome): void {
    for (const listener of this.outcomeListeners)
      this.guard.call('the outcome of a request', () => listener(outcome))
  }

  protected tellEvent(event: RadioEvent): void {
    for (const listener of this.eventListeners)
      this.guard.call('an event of the radio', () => listener(event))
  }

  /** Stamps it first. */
  protected report(event: ControllerEvent): void {
    this.tellEvent({ ...event, radio: this.radio, atWallMs: this.clock.wallMs() })
  }

  protected tellFault(reason: string): void {
    this.report({ kind: 'fault', atMs: this.clock.monotonicMs(), reason })
  }
}
