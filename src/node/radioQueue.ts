import type { Airtime, Port, TransmitOutcome } from '../radio/port.js'
import type { Cancel, Clock } from '../runtime/clock.js'
import { errorText } from '../runtime/errorText.js'
import { followingMs, hasReserve, mayGo, type RadioLoad } from './airtimeRules.js'
import { pace } from './pace.js'
import { type QueuedFrame, sendQueue } from './sendQueue.js'

/** What became of a frame in the end. */
export type FinalOutcome = Exclude<TransmitOutcome, { kind: 'held' }>

/** The frames that the node has for one radio: those that wait here, and those that the radio was given. */
export interface RadioQueue<Frame extends QueuedFrame> {
  add(frame: Frame): void
  /** Takes a frame back, unless it is on the air or has ended already. */
  withdraw(id: string, reason: string): void
  /** What the radio says of a frame; of what others gave it, nothing is known here. */
  settle(outcome: TransmitOutcome): void
  /** without an outcome, here and with the radio */
  readonly frames: readonly Frame[]
  readonly airtime: Airtime
  /** others wait here for their turn */
  readonly isBusy: boolean
  /** time of the key line for what goes before any first copy that waits here, such copies aside, ms */
  readonly aheadMs: number
  /** share of the time that the radio is on while it has something to send, as measured: 0 to 1 */
  readonly paceShare: number
  stop(): void
}

export interface RadioQueueParts<Frame extends QueuedFrame> {
  readonly port: Port
  readonly clock: Clock
  /** frames that may wait here */
  readonly framesMax: number
  readonly onEnd: (frame: Frame, outcome: FinalOutcome) => void
  readonly onHeld: (frame: Frame, reason: string) => void
}

interface Handed<Frame> {
  readonly frame: Frame
  readonly keyedMs: number
  /** for what follows it without waiting */
  readonly followingMs: number
  readonly atMs: number
  held: boolean
}

const shortOfAirtime = 'the duty limit is reached'
const notItsTurn = 'its turn did not come while others were sent'

export function radioQueue<Frame extends QueuedFrame>(
  parts: RadioQueueParts<Frame>,
): RadioQueue<Frame> {
  const { port, clock } = parts
  const waiting = sendQueue<Frame>(parts.framesMax)
  const handed = new Map<string, Handed<Frame>>()
  const measured = pace()
  const acknowledged: { readonly atMs: number; readonly airtimeMs: number }[] = []
  let transmission = { atMs: Number.NEGATIVE_INFINITY, airtimeMs: 0, elapsedMs: 0 }
  let waitsFor = notItsTurn
  let handingOver = false
  let stopped = false
  let cancelLook: Cancel = () => {}

  const load = (): RadioLoad => {
    const nowMs = clock.monotonicMs()
    while (acknowledged[0] !== undefined && nowMs - acknowledged[0].atMs > lately)
      acknowledged.shift()
    const acknowledgementMs = acknowledged.reduce((sum, { airtimeMs }) => sum + airtimeMs, 0)
    let busyMs = 0
    for (const { keyedMs, followingMs } of handed.values()) busyMs += keyedMs + followingMs
    return {
      ...{ nowMs, openMs: busyMs, acknowledgementShare: acknowledgementMs / lately },
      isUrgent: waiting.items.some(({ priority }) => priority === 'emergency'),
    }
  }

  const expire = (): void => {
    const nowMs = clock.monotonicMs()
    const reason = port.state().transmitBlockedBy ?? waitsFor
    for (const frame of waiting.takeExpired(nowMs))
      parts.onEnd(frame, { id: frame.id, kind: 'expired', atMs: nowMs, reason })
  }

  const handOver = (frame: Frame, airtime: Airtime): void => {
    const { id, octets, priority, notAfterMs } = frame
    waiting.take(id)
    // What frames share is counted once: with the first.
    const keyedMs = airtime.keyedMs([octets]) - (handed.size > 0 ? airtime.keyedMs([]) : 0)
    const following = followingMs(frame, airtime)
    handed.set(id, {
      ...{ frame, keyedMs, held: false },
      followingMs: following,
      atMs: clock.monotonicMs(),
    })
    try {
      port.send({ id, octets, priority, notAfterMs, origin: 'node' })
    } catch (error) {
      const reason = `the radio failed: ${errorText(error)}`
      settle({ id, kind: 'refused', atMs: clock.monotonicMs(), reason })
    }
  }

  /** Gives the radio what it may have now. @returns when more may go */
  const handOverAll = (): number => {
    const airtime = waiting.items.length === 0 ? undefined : port.airtime()
    for (let frame = waiting.items[0]; airtime && frame; frame = waiting.items[0]) {
      const verdict = mayGo(frame, airtime, load())
      if (verdict.kind === 'now') {
        handOver(frame, airtime)
        continue
      }
      waitsFor = verdict.kind === 'with airtime' ? shortOfAirtime : notItsTurn
      if (verdict.kind === 'with airtime') parts.onHeld(frame, shortOfAirtime)
      return 'untilMs' in verdict ? verdict.untilMs : Number.POSITIVE_INFINITY
    }
    return Number.POSITIVE_INFINITY
  }

  /** Gives the radio what it may have now, and looks again when more may go or something has expired. */
  const look = (): void => {
    if (handingOver || stopped) return
    handingOver = true
    cancelLook()
    let againMs = Number.POSITIVE_INFINITY
    try {
      expire()
      againMs = handOverAll()
    } finally {
      handingOver = false
    }
    for (const { notAfterMs } of waiting.items) againMs = Math.min(againMs, notAfterMs)
    if (againMs !== Infinity)
      cancelLook = clock.at(Math.max(againMs, clock.monotonicMs() + lookAgainMsMin), look)
  }

  /** Frames of one transmission end at one moment: they are measured together, when the next one ends. */
  const measure = ({ atMs, held }: Handed<Frame>, outcome: FinalOutcome): void => {
    if (outcome.kind !== 'sent') return
    if (outcome.atMs !== transmission.atMs) {
      measured.note(transmission.airtimeMs, transmission.elapsedMs)
      const sinceMs = Math.max(atMs, transmission.atMs)
      // While a duty limit or somebody held the frame, nothing could be measured.
      transmission = {
        atMs: outcome.atMs,
        airtimeMs: 0,
        elapsedMs: held ? 0 : outcome.atMs - sinceMs,
      }
    }
    transmission.airtimeMs += outcome.airtimeMs
  }

  const settle = (outcome: TransmitOutcome): void => {
    const entry = handed.get(outcome.id)
    if (entry === undefined) return
    if (outcome.kind === 'held') {
      entry.held = true
      parts.onHeld(entry.frame, outcome.reason)
      return
    }
    handed.delete(outcome.id)
    measure(entry, outcome)
    if (outcome.kind === 'sent' && entry.frame.priority === 'acknowledgement')
      acknowledged.push(outcome)
    parts.onEnd(entry.frame, outcome)
    look()
  }

  return {
    add(frame) {
      const displaced = waiting.add(frame)
      if (displaced !== undefined) {
        const reason = `too many frames wait for their radio (${parts.framesMax})`
        const atMs = clock.monotonicMs()
        parts.onEnd(displaced, { id: displaced.id, kind: 'refused', atMs, reason })
      }
      look()
    },
    withdraw(id, reason) {
      const frame = waiting.take(id)
      if (frame !== undefined)
        parts.onEnd(frame, { id, kind: 'refused', atMs: clock.monotonicMs(), reason })
      else if (handed.has(id)) port.withdraw(id)
    },
    settle,
    get frames() {
      return [...[...handed.values()].map(({ frame }) => frame), ...waiting.items]
    },
    get airtime() {
      return port.airtime()
    },
    get isBusy() {
      return waiting.items.length > 0
    },
    get aheadMs() {
      const airtime = port.airtime()
      let sumMs = 0
      for (const { frame, keyedMs } of handed.values())
        if (frame.priority !== 'answer') sumMs += keyedMs
      for (const { priority, octets } of waiting.items)
        if (hasReserve(priority)) sumMs += airtime.keyedMs([octets]) - airtime.keyedMs([])
      return sumMs
    },
    get paceShare() {
      return measured.share
    },
    stop() {
      stopped = true
      cancelLook()
    },
  }
}

/** Acknowledgements of so long tell how many will come. */
const lately = 60_000

/** A forecast that is right to the microsecond would look again and again within one. */
const lookAgainMsMin = 50
