/** Something for a topic of a broker. */
export interface BrokerMessage {
  readonly topic: string
  readonly payload: Uint8Array
  /** the broker keeps the newest, for those who come later */
  readonly retain: boolean
  /** what has not been handed on by then is dropped by the broker */
  readonly expiryMs: number
}

export interface BrokerListener {
  /** Connected, and subscribed to what was asked for. */
  up(): void
  down(reason: string): void
  /** Anything: whoever may write to the broker wrote it. */
  message(topic: string, payload: Uint8Array): void
}

/** A connection with a broker that is made anew whenever it is lost. */
export interface Broker {
  start(listener: BrokerListener): void
  /**
   * @param onEnd told once: whether the broker has it
   * @returns false while there is no connection: nothing is told then
   */
  publish(message: BrokerMessage, onEnd?: (isTaken: boolean) => void): boolean
  /** For good, after a last word. */
  stop(last?: BrokerMessage): void
  readonly state: BrokerState
}

export interface BrokerState {
  readonly isUp: boolean
  /** why it is not; undefined while it is, and before the first try has failed */
  readonly trouble: string | undefined
  readonly sentCount: number
  readonly heardCount: number
  /** connections made since the start */
  readonly upCount: number
}
