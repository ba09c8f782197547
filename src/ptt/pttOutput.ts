/** One way to key a transmitter. Made unkeyed: whoever makes it has driven the line to unkeyed before anything else. */
export interface PttOutput {
  /** what it is, for messages: 'serial /dev/ttyUSB0 rts' */
  readonly name: string
  /** Makes ready what unkeying takes, so that it is quick; once, before the first key(). */
  prepare?(): Promise<void>
  /**
   * Settles when the line is on.
   * @throws Failure when it cannot be switched on; the line is then taken for on until unkey() has settled
   */
  key(): void | Promise<void>
  /**
   * Settles when the line is off. Harmless when it is off already; may come while key() is under way, and wins.
   * @throws Failure when it cannot be switched off
   */
  unkey(): void | Promise<void>
  /** Unkeys, then lets go of the device. */
  close(): Promise<void>
}

const pttKinds = ['none', 'log', 'serial', 'gpio', 'hid', 'command'] as const
export type PttKind = (typeof pttKinds)[number]

/** How a transmitter is keyed. What a kind does not need is not looked at. */
export interface PttOptions {
  readonly kind: PttKind
  /** serial: /dev/ttyUSB0; gpio: gpiochip0; hid: /dev/hidraw0 */
  readonly device: string
  /** serial: which line; gpio: the line's number; hid: the GPIO pin, 1 to 4 */
  readonly line?: 'rts' | 'dtr' | 'both' | number | undefined
  /** true where the low level keys the radio */
  readonly activeLow: boolean
  readonly keyCommand: readonly string[]
  readonly unkeyCommand: readonly string[]
  /** a line for every edge; empty for none */
  readonly logFile: string
  /** how long the helper waits for a sign of life while keyed */
  readonly deadManMs: number
}
