/**
 * What stands at our end of a connection: a terminal for a person, or whatever else answers another station. The link below
 * it hands over octets once and in order, or says that it broke.
 */
export interface Session {
  begin(): void
  receive(octets: Uint8Array, pid: number): void
  /** all that was written has been acknowledged by the other end */
  drained(): void
  /** the link began anew: what was not acknowledged, either way, may be lost */
  reset(): void
  /** nothing can be written any more */
  ended(): void
}

/** The other end, as a session sees it. */
export interface Peer {
  /** with SSID, as in frames */
  readonly call: string
  /**
   * Text is a stream of octets; of another protocol, all that is handed over at once arrives as one.
   * @param pid protocol identifier; text where absent
   * @returns false when too much waits already, or the other end cannot take it: nothing of it is taken
   */
  write(octets: Uint8Array, pid?: number): boolean
  /** octets that were written and are not acknowledged */
  readonly waitingOctets: number
  /** false: nothing more can be taken just now, and the other end is asked to wait */
  setReady(ready: boolean): void
  /** Ends the connection once all that was written is acknowledged, or given up. */
  close(): void
}

export type OpenSession = (peer: Peer) => Session
