import { type Address, parseAddress } from '../ax25/address.js'
import { encodeFrame, informationOctetCountMax, uiFrame } from '../ax25/frame.js'
import { bad, good, type Result } from '../ax25/result.js'
import type { Airtime, FinalOutcome, Port, Priority } from '../radio/port.js'
import type { Clock } from '../runtime/clock.js'
import { errorText } from '../runtime/errorText.js'
import type { Guard } from '../runtime/guard.js'
import type { Store } from '../store/store.js'
import type { Journal } from './journal.js'
import { nodeDestination } from './options.js'
import { type RadioQueue, radioQueue } from './radioQueue.js'

/** A frame that the node wants on the air. */
export interface Outgoing {
  /** a whole frame of another station, without FCS, in place of payload and path */
  readonly whole?: Uint8Array | undefined
  readonly payload: Uint8Array
  readonly path: readonly string[]
  readonly radio: number
  readonly priority: Priority
  /** within its priority: a lower one goes first, then who came first; 0 where absent */
  readonly turn?: number | undefined
  /** octets of what follows it without waiting: the other parts of its answer */
  readonly followingOctets?: number | undefined
  /** monotonic */
  readonly notAfterMs: number
  readonly station?: string | undefined
  readonly reference?: string | undefined
  /** for the log, in words */
  readonly text: string
  /** whoever sends it tells the log himself: that it was queued, held and sent is no event of its own */
  readonly quiet?: boolean | undefined
  /** called once, unless it is taken back: when it was sent, refused, or too late */
  readonly onEnd?: (outcome: FinalOutcome) => void
}

/** Takes a frame back, as far as it is not on the air; nothing more is told of it. @param reason for the log */
export type TakeBack = (reason: string) => void

/** A frame that has no outcome yet. */
export interface WaitingFrame {
  readonly id: string
  readonly radio: number
  readonly priority: Priority
  readonly station: string | undefined
  readonly text: string
  readonly ageMs: number
}

export interface Transmitter {
  /** Never throws: what cannot be sent is refused, with the reason. */
  send(outgoing: Outgoing): TakeBack
  /** why this radio may not send at all; undefined when it may */
  blockedBy(radio: number): string | undefined
  /** undefined where there is no radio */
  airtime(radio: number): RadioAirtime | undefined
  /** others wait for their turn on this radio */
  isBusy(radio: number): boolean
  /** oldest first */
  waiting(): readonly WaitingFrame[]
  /** Ends one that waits, for good. @returns false when none of this id does */
  drop(id: string, reason: string): boolean
  stop(): void
}

/** What one radio may send, and how fast it does. */
export interface RadioAirtime extends Pick<Airtime, 'keyedMs' | 'forecast'> {
  /** time of the key line for what goes before first copies of answers, ms */
  readonly aheadMs: number
  readonly paceShare: number
}

/** Frames that may wait for one radio; one more pushes out the last in order. */
const framesMax = 500

interface Entry {
  readonly id: string
  readonly priority: Priority
  readonly turn: number
  readonly notAfterMs: number
  readonly octets: Uint8Array
  readonly followingOctets: number
  readonly outgoing: Outgoing
  readonly sinceMs: number
  heldBy?: string
  takenBack?: string
  dropped?: string
}

/** Gives frames to the radios in the order in which they are to go out, and keeps what became of them. */
export interface TransmitterParts {
  readonly ports: readonly Port[]
  readonly clock: Clock
  readonly store: Store
  readonly nextId: () => string
  readonly note: Journal
  readonly guard: Guard
  readonly call: string
}

export function transmitter(parts: TransmitterParts): Transmitter {
  const { ports, clock, store, note } = parts
  const source = addressOf(parts.call)

  const onEnd = (entry: Entry, ended: FinalOutcome): void => {
    const outcome = withDrop(entry, ended)
    const { outgoing, octets, takenBack } = entry
    const { radio, station, reference, text, priority } = outgoing
    const { kind } = outcome
    const reason = kind === 'sent' ? outcome.doubt : (takenBack ?? outcome.reason)
    const airtimeMs = kind === 'sent' ? outcome.airtimeMs : undefined
    store.transmissions.add({
      ...{ atWallMs: clock.wallMs(), radio, priority, octets, outcome: kind, airtimeMs },
      ...{ reference, reason },
    })
    if (outgoing.quiet !== true) note(outcome.kind, text, { radio, station, reference, reason })
    if (takenBack === undefined) outgoing.onEnd?.(outcome)
  }

  const onHeld = (entry: Entry, reason: string): void => {
    if (entry.heldBy === reason) return
    entry.heldBy = reason
    const { radio, station, reference, text, quiet } = entry.outgoing
    if (quiet !== true) note('held', text, { radio, station, reference, reason })
  }

  const queues = new Map<number, RadioQueue<Entry>>()
  for (const port of ports) {
    const queue = radioQueue<Entry>({ port, clock, framesMax, onEnd, onHeld })
    // KISS clients' and the operator's requests have outcomes, too: the queue knows its own.
    port.onOutcome(parts.guard.listener('what became of a frame', queue.settle))
    queues.set(port.radio, queue)
  }
  const portOf = (radio: number): Port | undefined =>
    ports.find((one) => one.radio === radio) ?? ports[0]
  const queueOf = (radio: number): RadioQueue<Entry> | undefined => {
    const port = portOf(radio)
    return port && queues.get(port.radio)
  }

  return {
    blockedBy: (radio) => portOf(radio)?.state().transmitBlockedBy,
    airtime(radio) {
      const queue = queueOf(radio)
      if (queue === undefined) return undefined
      const { airtime, paceShare, aheadMs } = queue
      return { keyedMs: airtime.keyedMs, forecast: airtime.forecast, paceShare, aheadMs }
    },
    isBusy: (radio) => queueOf(radio)?.isBusy ?? false,
    waiting: () => waitingIn([...queues.values()], clock.monotonicMs()),
    drop: (id, reason) => [...queues.values()].some((queue) => dropFrom(queue, id, reason)),
    send(outgoing) {
      const frame = encode(source, outgoing)
      const octets = frame.ok ? frame.value : new Uint8Array()
      const { radio, station, reference, text, priority, turn = 0, notAfterMs } = outgoing
      const sinceMs = clock.monotonicMs()
      const entry: Entry = {
        ...{ id: parts.nextId(), priority, turn, notAfterMs, octets, outgoing, sinceMs },
        followingOctets: outgoing.followingOctets ?? 0,
      }
      const queue = queueOf(radio)
      if (!frame.ok || queue === undefined) {
        const reason = frame.ok ? 'no radio' : `no frame can carry it: ${frame.reason}`
        onEnd(entry, { id: entry.id, kind: 'refused', atMs: sinceMs, reason })
        return () => {}
      }
      if (outgoing.quiet !== true) note('queued', text, { radio, station, reference })
      queue.add(entry)
      return (reason) => {
        entry.takenBack = reason
        queue.withdraw(entry.id, reason)
      }
    },
    stop() {
      for (const queue of queues.values()) queue.stop()
    },
  }
}

const waitingIn = (queues: readonly RadioQueue<Entry>[], nowMs: number): WaitingFrame[] =>
  queues
    .flatMap(({ frames }) => frames)
    .sort((a, b) => a.sinceMs - b.sinceMs)
    .map((entry) => waitingFrame(entry, nowMs))

function waitingFrame({ id, outgoing, sinceMs }: Entry, nowMs: number): WaitingFrame {
  const { radio, priority, station, text } = outgoing
  return { id, radio, priority, station, text, ageMs: nowMs - sinceMs }
}

/** A mistake of ours, or a row of an older database, must not reach whoever asked for the frame as an exception. */
function encode(source: Address, { whole, path, payload }: Outgoing): Result<Uint8Array> {
  if (whole !== undefined) return good(whole)
  if (payload.length > informationOctetCountMax)
    return bad(`${payload.length} octets of information, at most ${informationOctetCountMax} go`)
  try {
    const destination = addressOf(nodeDestination)
    return good(encodeFrame(uiFrame({ source, destination, path: path.map(addressOf), payload })))
  } catch (error) {
    return bad(errorText(error))
  }
}

function dropFrom(queue: RadioQueue<Entry>, id: string, reason: string): boolean {
  const entry = queue.frames.find((frame) => frame.id === id)
  if (entry === undefined) return false
  entry.dropped = reason
  queue.withdraw(id, reason)
  return true
}

/** What became of it; a frame that was dropped ends with the reason for that. */
const withDrop = ({ dropped }: Entry, ended: FinalOutcome): FinalOutcome =>
  ended.kind === 'refused' && dropped !== undefined
    ? { ...ended, reason: dropped, isFinal: true }
    : ended

function addressOf(text: string): Address {
  const address = parseAddress(text)
  if (!address.ok) throw new RangeError(address.reason)
  return address.value
}
