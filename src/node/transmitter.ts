import { type Address, parseAddress } from '../ax25/address.js'
import { encodeFrame, uiFrame } from '../ax25/frame.js'
import type { Port, Priority, TransmitOutcome } from '../radio/port.js'
import type { Clock } from '../runtime/clock.js'
import type { Store } from '../store/store.js'
import type { Journal } from './journal.js'
import { nodeDestination } from './options.js'

/** A frame that the node wants on the air. */
export interface Outgoing {
  readonly payload: Uint8Array
  readonly path: readonly string[]
  readonly radio: number
  readonly priority: Priority
  /** monotonic */
  readonly notAfterMs: number
  readonly station?: string | undefined
  readonly reference?: string | undefined
  /** for the log, in words */
  readonly text: string
  /** called once: when it was sent, refused, or too late */
  readonly onEnd?: (outcome: Exclude<TransmitOutcome, { kind: 'held' }>) => void
}

export interface Transmitter {
  send(outgoing: Outgoing): void
  /** why this radio may not send at all; undefined when it may */
  blockedBy(radio: number): string | undefined
  /** requests that have no outcome yet */
  readonly openCount: number
}

/** Beyond this many requests without an outcome, a port is taken for dead and new ones are refused. */
const openMax = 500

/** Gives frames to the radios, and takes and keeps what became of them. */
export function transmitter(parts: {
  readonly ports: readonly Port[]
  readonly clock: Clock
  readonly store: Store
  readonly nextId: () => string
  readonly note: Journal
  readonly call: string
}): Transmitter {
  const { ports, clock, store, note } = parts
  const open = new Map<string, { outgoing: Outgoing; octets: Uint8Array; heldBy?: string }>()
  const source = addressOf(parts.call)
  const destination = addressOf(nodeDestination)

  const settle = (outcome: TransmitOutcome): void => {
    const entry = open.get(outcome.id)
    if (entry === undefined) return // a KISS client's or the operator's
    const { outgoing, octets } = entry
    const { radio, station, reference, text, priority } = outgoing
    const detail = { radio, station, reference }
    if (outcome.kind === 'held') {
      if (entry.heldBy === outcome.reason) return
      entry.heldBy = outcome.reason
      note('held', text, { ...detail, reason: outcome.reason })
      return
    }
    open.delete(outcome.id)
    const reason = outcome.kind === 'sent' ? undefined : outcome.reason
    store.transmissions.add({
      atWallMs: clock.wallMs(),
      radio,
      priority,
      octets,
      outcome: outcome.kind,
      airtimeMs: outcome.kind === 'sent' ? outcome.airtimeMs : undefined,
      reference,
      reason,
    })
    note(outcome.kind, text, { ...detail, reason })
    outgoing.onEnd?.(outcome)
  }
  for (const port of ports) port.onOutcome(settle)

  const portOf = (radio: number): Port | undefined =>
    ports.find((one) => one.radio === radio) ?? ports[0]

  return {
    blockedBy: (radio) => portOf(radio)?.state().transmitBlockedBy,
    get openCount() {
      return open.size
    },
    send(outgoing) {
      const id = parts.nextId()
      const octets = encodeFrame(
        uiFrame({
          source,
          destination,
          path: outgoing.path.map(addressOf),
          payload: outgoing.payload,
        }),
      )
      open.set(id, { outgoing, octets })
      const { radio, station, reference, text, priority, notAfterMs } = outgoing
      const port = portOf(radio)
      const nowMs = clock.monotonicMs()
      if (port === undefined || open.size > openMax) {
        const reason = port === undefined ? 'no radio' : 'too many frames wait for their radio'
        settle({ id, kind: 'refused', atMs: nowMs, reason })
        return
      }
      note('queued', text, { radio, station, reference })
      port.send({ id, octets, priority, notAfterMs, origin: 'node' })
    },
  }
}

function addressOf(text: string): Address {
  const address = parseAddress(text)
  if (!address.ok) throw new RangeError(address.reason)
  return address.value
}
