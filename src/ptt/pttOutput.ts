/** One way to key a transmitter. Made unkeyed: whoever makes it has driven the line to unkeyed before anything else. */
export interface PttOutput {
  /** what it is, for messages: 'serial /dev/ttyUSB0 rts' */
  readonly name: string
  /**
   * Settles when the line is on.
   * @throws Failure when it cannot be switched on; the line is then taken for on until unkey() has settled
   */
  key(): void | Promise<void>
  /**
   * Settles when the line is off. Harmless when it is off already.
   * @throws Failure when it cannot be switched off
   */
  unkey(): void | Promise<void>
  /** Unkeys, then lets go of the device. */
  close(): Promise<void>
}
