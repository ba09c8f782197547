import { encodeFrame, uiFrame } from '../../src/ax25/frame.js'
import type { StreamHandlers } from '../../src/kiss/octetStream.js'
import { createKissPort, type KissPortOptions } from '../../src/radio/kissPort.js'
import type { TransmitOutcome, TransmitRequest } from '../../src/radio/port.js'
import type { RadioEvent } from '../../src/radio/radioEvent.js'
import type { TransmitOptions } from '../../src/radio/transmitOptions.js'
import { seededRandom } from '../../src/runtime/random.js'
import { virtualClock } from '../../src/runtime/virtualClock.js'

// Invented calls: no country's begin with Q. They have the form of a call, so that the controller lets them through.
export const transmit: TransmitOptions = {
  enabled: true,
  call: 'QQ0ZZ-10',
  access: { keyDelayMs: 300, tailMs: 50, slotTimeMs: 100, persistence: 63, fullDuplex: false },
  timeOutMs: 8000,
  dutyLimits: [{ windowMs: 360_000, share: 0.02 }],
  identification: { intervalMs: 540_000, quietMs: 20_000, destination: 'ID' },
  queueMax: 10,
}

export const frameFrom = (call: string, text = '>invented'): Uint8Array =>
  encodeFrame(
    uiFrame({
      source: { call, ssid: 10 },
      destination: { call: 'APZTST', ssid: 0 },
      path: [],
      payload: Buffer.from(text),
    }),
  )

/** A port to a modem that does what a test says. */
export function bench(change: Partial<TransmitOptions> = {}, more: Partial<KissPortOptions> = {}) {
  const clock = virtualClock()
  const written: Buffer[] = []
  const openings: StreamHandlers[] = []
  const closings: number[] = []
  let stuckOctets = 0
  const port = createKissPort({
    radio: 3,
    name: 'hill',
    modemPort: 1,
    startup: [],
    silentAfterMs: 3_600_000,
    transmit: { ...transmit, ...change },
    clock,
    random: seededRandom(1),
    open(handlers) {
      openings.push(handlers)
      return {
        write: (octets) => void written.push(Buffer.from(octets)),
        waitingOctets: () => stuckOctets,
        close: () => void closings.push(clock.monotonicMs()),
      }
    },
    ...more,
  })
  const outcomes: TransmitOutcome[] = []
  const events: RadioEvent[] = []
  port.onOutcome((outcome) => outcomes.push(outcome))
  port.onEvent((event) => events.push(event))
  let ids = 0
  const send = (octets: Uint8Array, lifeMs = 600_000): void => {
    const request: TransmitRequest = {
      id: `id-${++ids}`,
      octets,
      priority: 'answer',
      notAfterMs: clock.monotonicMs() + lifeMs,
      origin: 'node',
    }
    port.send(request)
  }
  const connect = (): void => {
    openings.at(-1)!.onOpen()
    clock.advanceBy(1000)
    written.length = 0
  }
  const jam = (octets = 1e9): void => {
    stuckOctets = octets
  }
  return { clock, written, openings, closings, port, outcomes, events, send, connect, jam }
}

export const kinds = (outcomes: readonly TransmitOutcome[]) =>
  outcomes.map(({ id, kind }) => `${id} ${kind}`)
