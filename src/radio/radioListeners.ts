import type { HeardFrame, TransmitOutcome } from './port.js'
import type { RadioEvent } from './radioEvent.js'

/** Who listens to a radio: the part of RadioPort that is the same for every kind of radio. */
export abstract class RadioListeners {
  private readonly frameListeners: ((frame: HeardFrame) => void)[] = []
  private readonly outcomeListeners: ((outcome: TransmitOutcome) => void)[] = []
  private readonly eventListeners: ((event: RadioEvent) => void)[] = []

  onFrame(listener: (frame: HeardFrame) => void): void {
    this.frameListeners.push(listener)
  }

  onOutcome(listener: (outcome: TransmitOutcome) => void): void {
    this.outcomeListeners.push(listener)
  }

  onEvent(listener: (event: RadioEvent) => void): void {
    this.eventListeners.push(listener)
  }

  protected tellFrame(frame: HeardFrame): void {
    for (const listener of this.frameListeners) listener(frame)
  }

  protected tellOutcome(outcome: TransmitOutcome): void {
    for (const listener of this.outcomeListeners) listener(outcome)
  }

  protected tellEvent(event: RadioEvent): void {
    for (const listener of this.eventListeners) listener(event)
  }
}
