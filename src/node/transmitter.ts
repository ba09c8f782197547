import { type Address, parseAddress } from '../ax25/address.js'
import { encodeFrame, informationOctetCountMax, uiFrame } from '../ax25/frame.js'
import { bad, good, type Result } from '../ax25/result.js'
import type { Port, Priority, TransmitOutcome } from '../radio/port.js'
import type { Clock } from '../runtime/clock.js'
import { errorText } from '../runtime/errorText.js'
import type { Guard } from '../runtime/guard.js'
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
  /** Never throws: what cannot be sent is refused, with the reason. */
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
  readonly guard: Guard
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
    const reason = outcome.kind === 'sent' ? outcome.doubt : outcome.reason
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
  const onOutcome = parts.guard.listener('what became of a frame', settle)
  for (const port of ports) port.onOutcome(onOutcome)

  /** A mistake of ours, or a row of an older database, must not reach whoever asked for the frame as an exception. */
  const encode = ({ path, payload }: Outgoing): Result<Uint8Array> => {
    if (payload.length > informationOctetCountMax)
      return bad(`${payload.length} octets of information, at most ${informationOctetCountMax} go`)
    try {
      return good(encodeFrame(uiFrame({ source, destination, path: path.map(addressOf), payload })))
    } catch (error) {
      return bad(errorText(error))
    }
  }

  const portOf = (radio: number): Port | undefined =>
    ports.find((one) => one.radio === radio) ?? ports[0]

  return {
    blockedBy: (radio) => portOf(radio)?.state().transmitBlockedBy,
    get openCount() {
      return open.size
    },
    send(outgoing) {
      const id = parts.nextId()
      const { radio, station, reference, text, priority, notAfterMs } = outgoing
      const frame = encode(outgoing)
      open.set(id, { outgoing, octets: frame.ok ? frame.value : new Uint8Array() })
      const refuse = (reason: string): void =>
        settle({ id, kind: 'refused', atMs: clock.monotonicMs(), reason })
      const port = portOf(radio)
      if (!frame.ok) refuse(`no frame can carry it: ${frame.reason}`)
      else if (port === undefined) refuse('no radio')
      else if (open.size > openMax) refuse('too many frames wait for their radio')
      else {
        note('queued', text, { radio, station, reference })
        try {
          port.send({ id, octets: frame.value, priority, notAfterMs, origin: 'node' })
        } catch (error) {
          refuse(`the radio failed: ${errorText(error)}`)
        }
      }
    },
  }
}

function addressOf(text: string): Address {
  const address = parseAddress(text)
  if (!address.ok) throw new RangeError(address.reason)
  return address.value
}
