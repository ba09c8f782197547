import type { ControllerAction, ControllerInput } from '../radio/controllerTypes.js'
import type {
  HeardFrame,
  Port,
  PortState,
  TransmitOutcome,
  TransmitRequest,
} from '../radio/port.js'
import type { TransmissionContent } from '../radio/transmission.js'
import { TransmitController } from '../radio/transmitController.js'
import type { Cancel, Clock } from '../runtime/clock.js'
import type { Random } from '../runtime/random.js'
import type { Channel } from './channel.js'
import { frameSpans, frameTimesMs } from './frameTimes.js'

export interface SimulatedRadioOptions {
  readonly clock: Clock
  readonly random: Random
  readonly channel: Channel
  /** also its name on the channel */
  readonly call: string
  readonly radio?: number
  /** share of a rolling 6 minutes that may be sent; default 1: no limit */
  readonly dutyShare?: number
}

/** Between the decision and the key line, and back. */
const keyMs = 5
const keyDelayMs = 300
const tailMs = 30

/** What a simulated radio may send, and how long it takes. */
export const simulatedTransmit = (call: string, dutyShare: number) => ({
  enabled: true,
  call,
  // Values of the reference's chapter 3, as published: slots of 100 ms, p = 63.
  access: { keyDelayMs, tailMs, slotTimeMs: 100, persistence: 63, fullDuplex: false },
  timeOutMs: 8_000,
  dutyLimits: [{ share: dutyShare, windowMs: 360_000 }],
  reserveShare: 0.1,
  identification: { intervalMs: 540_000, quietMs: 60_000, destination: 'ID' },
  queueMax: 100,
  durationMs: frameTimesMs,
  keyOverheadMs: 2 * keyMs,
  unkeyMarginMs: 2 * keyMs,
})

/**
 * A radio on the simulated channel: the real transmit controller, frames in place of audio. Frames take the time that
 * their bits, stuffing included, take at 1200 baud.
 */
export function simulatedRadio(options: SimulatedRadioOptions): Port {
  const { clock, channel, call, random } = options
  const radio = options.radio ?? 0
  const frameListeners: ((frame: HeardFrame) => void)[] = []
  const outcomeListeners: ((outcome: TransmitOutcome) => void)[] = []
  const controller = new TransmitController({
    ...simulatedTransmit(call, options.dutyShare ?? 1),
    random,
  })
  let closed = false
  let lastBusy: boolean | undefined
  let content: TransmissionContent | undefined
  let cutAir: Cancel = () => {}
  let cancelEnd: Cancel = () => {}
  let cancelWake: Cancel = () => {}

  const step = (input: ControllerInput): void => {
    if (closed) return
    const nowMs = clock.monotonicMs()
    for (const action of controller.handle(input, nowMs)) act(action)
    cancelWake()
    const nextMs = controller.nextAtMs()
    cancelWake = nextMs === undefined ? () => {} : clock.at(nextMs, () => step({ kind: 'time' }))
  }
  const soon = (ms: number, make: (atMs: number) => ControllerInput): Cancel => {
    const atMs = clock.monotonicMs() + ms
    return clock.at(atMs, () => step(make(atMs)))
  }

  const act = (action: ControllerAction): void => {
    switch (action.kind) {
      case 'key':
        content = action.content
        soon(keyMs, (atMs) => ({ kind: 'keyed', atMs }))
        break
      case 'play': {
        const lastsMs = frameTimesMs(content!)
        cutAir = channel.transmit(call, lastsMs, frameSpans(content!))
        cancelEnd = soon(lastsMs, () => ({ kind: 'audioEnded' }))
        break
      }
      case 'unkey':
        if (action.cut) {
          cutAir()
          cancelEnd()
        }
        soon(keyMs, (atMs) => ({ kind: 'unkeyed', atMs }))
        break
      case 'outcome': {
        const { outcome } = action
        // in a call of its own, as a radio's answer from its worker comes
        clock.at(clock.monotonicMs(), () => {
          if (closed) return
          for (const listener of outcomeListeners) listener(outcome)
        })
        break
      }
      case 'event':
        break
    }
  }

  const attached = channel.attach({
    name: call,
    heard(octets) {
      const frame: HeardFrame = {
        octets,
        radio,
        heardAtMs: clock.monotonicMs(),
        heardAtWallMs: clock.wallMs(),
        repairedBits: 0,
        detector: 'simulation',
      }
      for (const listener of frameListeners) listener(frame)
    },
    busy(busy) {
      if (busy !== lastBusy) step({ kind: 'channel', busy })
      lastBusy = busy
    },
  })

  return {
    radio,
    name: call,
    send: (request: TransmitRequest) => step({ kind: 'request', request }),
    withdraw: (id) => step({ kind: 'withdraw', id }),
    onFrame: (listener) => frameListeners.push(listener),
    onOutcome: (listener) => outcomeListeners.push(listener),
    state: (): PortState => ({ receiving: true, ...controller.state(clock.monotonicMs()) }),
    airtime: () => controller.airtime(clock.monotonicMs()),
    /** As a process that dies: the line goes off, what waited is gone, nobody is told. */
    async close() {
      closed = true
      cutAir()
      cancelEnd()
      cancelWake()
      attached.detach()
    },
  }
}
