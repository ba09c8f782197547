import type {
  Airtime,
  Port,
  PortState,
  TransmitOutcome,
  TransmitRequest,
} from '../../src/radio/port.js'

/** Of a transmission: 350 ms, and 10 ms for each octet of its frames. */
const keyedMs: Airtime['keyedMs'] = (frames) =>
  frames.reduce((sumMs, { length }) => sumMs + 10 * length, 350)

/** What a radio without a duty limit leaves, and what is said otherwise. */
export const airtimeWith = (given: Partial<Airtime> = {}): Airtime => ({
  allowanceMs: Number.POSITIVE_INFINITY,
  keyedMs,
  freeMs: () => Number.POSITIVE_INFINITY,
  earliestMs: () => 0,
  forecast: () => () => 0,
  ...given,
})

/** A radio that keeps what it is given until a test says what became of it. */
export class HandRadio implements Port {
  readonly name = 'hand'
  readonly given: TransmitRequest[] = []
  readonly withdrawn: string[] = []
  blockedBy: string | undefined
  limits: Partial<Airtime> = {}
  /** told of each frame before it is kept */
  onSend: (request: TransmitRequest) => void = () => {}
  readonly #listeners: ((outcome: TransmitOutcome) => void)[] = []

  constructor(readonly radio = 0) {}

  /** ids of what it has been given, in order */
  get ids(): string[] {
    return this.given.map(({ id }) => id)
  }

  send(request: TransmitRequest): void {
    this.onSend(request)
    this.given.push(request)
  }

  withdraw(id: string): void {
    this.withdrawn.push(id)
  }

  tell(outcome: TransmitOutcome): void {
    for (const listener of this.#listeners) listener(outcome)
  }

  onFrame(): void {}

  onOutcome(listener: (outcome: TransmitOutcome) => void): void {
    this.#listeners.push(listener)
  }

  state(): PortState {
    return {
      ...{ receiving: true, channelBusy: false, keyed: false, queuedCount: 0, dutyUsed: 0 },
      transmitBlockedBy: this.blockedBy,
    }
  }

  airtime(): Airtime {
    return airtimeWith(this.limits)
  }

  async close(): Promise<void> {}
}
