import type { Airtime, FinalOutcome, Port, TransmitOutcome } from '../radio/port.js'
import type { Clock } from '../runtime/clock.js'
import { errorText } from '../runtime/errorText.js'
import { hasReserve, mayGo, type RadioLoad } from './airtimeRules.js'
import { type HandedFrames, handedFrames } from './handedFrames.js'
import { lookout } from './lookout.js'
import { type QueuedFrame, type SendQueue, sendQueue } from './sendQueue.js'

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

const shortOfAirtime = 'the duty limit is reached'
const notItsTurn = 'its turn did not come while others were sent'

export function radioQueue<Frame extends QueuedFrame>(
  parts: RadioQueueParts<Frame>,
): RadioQueue<Frame> {
  const { port, clock } = parts
  const waiting = sendQueue<Frame>(parts.framesMax)
  const handed = handedFrames<Frame>()
  let waitsFor = notItsTurn

  const expire = (): void => {
    const nowMs = clock.monotonicMs()
    const reason = port.state().transmitBlockedBy ?? waitsFor
    for (const frame of waiting.takeExpired(nowMs))
      parts.onEnd(frame, { id: frame.id, kind: 'expired', atMs: nowMs, reason })
  }

  const refuse = (frame: Frame, reason: string): void =>
    parts.onEnd(frame, { id: frame.id, kind: 'refused', atMs: clock.monotonicMs(), reason })

  const handOver = (frame: Frame, airtime: Airtime): void => {
    const { id } = frame
    waiting.take(id)
    handed.add(frame, airtime, clock.monotonicMs())
    const reason = faultOfSending(port, frame)
    if (reason !== undefined) settle({ id, kind: 'refused', atMs: clock.monotonicMs(), reason })
  }

  /** Gives the radio what it may have now. @returns when more may go */
  const handOverAll = (): number => {
    const airtime = waiting.items.length === 0 ? undefined : port.airtime()
    for (let frame = waiting.items[0]; airtime && frame; frame = waiting.items[0]) {
      const verdict = mayGo(frame, airtime, loadOf(handed, waiting, clock.monotonicMs()))
      if (verdict.kind === 'now') {
        handOver(frame, airtime)
        continue
      }
      waitsFor = verdict.kind === 'with airtime' ? shortOfAirtime : notItsTurn
      if (verdict.kind === 'with airtime') parts.onHeld(frame, shortOfAirtime)
      return 'untilMs' in verdict ? verdict.untilMs : Infinity
    }
    return Infinity
  }

  const { look, stop } = lookout(clock, () => {
    expire()
    return Math.min(handOverAll(), ...waiting.items.map(({ notAfterMs }) => notAfterMs))
  })

  const settle = (outcome: TransmitOutcome): void => {
    if (outcome.kind === 'held') {
      const frame = handed.held(outcome.id)
      if (frame !== undefined) parts.onHeld(frame, outcome.reason)
      return
    }
    const frame = handed.ended(outcome)
    if (frame === undefined) return
    parts.onEnd(frame, outcome)
    look()
  }

  return {
    add(frame) {
      const displaced = waiting.add(frame)
      if (displaced !== undefined)
        refuse(displaced, `too many frames wait for their radio (${parts.framesMax})`)
      look()
    },
    withdraw(id, reason) {
      const frame = waiting.take(id)
      if (frame !== undefined) refuse(frame, reason)
      else if (handed.has(id)) port.withdraw(id)
    },
    settle,
    get frames() {
      return [...handed.frames, ...waiting.items]
    },
    get airtime() {
      return port.airtime()
    },
    get isBusy() {
      return waiting.items.length > 0
    },
    get aheadMs() {
      return handed.aheadMs + reservedMs(waiting, port.airtime())
    },
    get paceShare() {
      return handed.paceShare
    },
    stop,
  }
}

/** Gives a radio a frame. @returns why that failed */
function faultOfSending(port: Port, frame: QueuedFrame): string | undefined {
  const { id, octets, priority, notAfterMs } = frame
  try {
    port.send({ id, octets, priority, notAfterMs, origin: 'node' })
    return undefined
  } catch (error) {
    return `the radio failed: ${errorText(error)}`
  }
}

const loadOf = (
  handed: HandedFrames<QueuedFrame>,
  waiting: SendQueue<QueuedFrame>,
  nowMs: number,
): RadioLoad => ({
  nowMs,
  openMs: handed.openMs,
  acknowledgementShare: handed.acknowledgementShare(nowMs),
  isUrgent: waiting.items.some(({ priority }) => priority === 'emergency'),
})

/** Time of the key line for what waits and goes before all answers. */
function reservedMs({ items }: SendQueue<QueuedFrame>, airtime: Airtime): number {
  const first = items.filter(({ priority }) => hasReserve(priority))
  return first.reduce(
    (sumMs, { octets }) => sumMs + airtime.keyedMs([octets]) - airtime.keyedMs([]),
    0,
  )
}
