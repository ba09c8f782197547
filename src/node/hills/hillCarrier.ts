import type { OpenSession } from '../connected/session.js'

/** Another way to nodes than the radio: sessions go over it as over a connection. */
export interface HillCarrier {
  /** no node is called by it more often */
  readonly everyMs: number
  /** octets of text that may be handed over in one turn */
  readonly turnOctets: number
  start(hills: CalledHills): void
  /** Ends what is open. */
  stop(): void
  /** whether this node can be called now */
  reaches(call: string): boolean
  /** @returns false when there is a session with it already, or it is not reached: nothing is told then */
  call(call: string, openSession: OpenSession, onEnded: () => void): boolean
}

export interface CalledHills {
  /** @returns the session for a node that calls; undefined for one that may not */
  sessionFor(call: string): OpenSession | undefined
  /** It can be called from now on. */
  reached(call: string): void
}
