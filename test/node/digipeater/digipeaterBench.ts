import { decodeFrame, encodeFrame } from '../../../src/ax25/frame.js'
import { formatLine, parseLine } from '../../../src/ax25/line.js'
import {
  type Digipeater,
  type DigipeaterOptions,
  digipeater,
} from '../../../src/node/digipeater/digipeater.js'
import type { Outgoing } from '../../../src/node/transmitter.js'
import type { FinalOutcome } from '../../../src/radio/port.js'
import { type VirtualClock, virtualClock } from '../../../src/runtime/virtualClock.js'

const ownCall = { call: 'N0DE', ssid: 10 }

/** A digipeater alone: what it gives to the transmitter waits there until the test says what became of it. */
export interface DigipeaterBench {
  readonly digipeater: Digipeater
  readonly clock: VirtualClock
  /** what was handed over, oldest first */
  readonly given: Outgoing[]
  readonly takenBack: string[]
  /** said of what is handed over, before `send` returns; undefined waits */
  atOnce: FinalOutcome | undefined
  /** line notation */
  hear(line: string, more?: { readonly radio?: number; readonly repairedBits?: number }): void
  hearOctets(octets: Uint8Array, more?: { radio?: number; repairedBits?: number }): void
  end(index: number, outcome?: FinalOutcome): void
  /** 'SOURCE PATH' of what was handed over */
  lines(): string[]
  reasons(): Record<string, number>
}

export const sent: FinalOutcome = { id: '1', kind: 'sent', atMs: 0, airtimeMs: 400 }

export function digipeaterBench(
  change: Partial<DigipeaterOptions> = {},
  {
    random = () => 0.5,
    distanceM = () => undefined,
  }: {
    readonly random?: () => number
    readonly distanceM?: (call: string) => number | undefined
  } = {},
): DigipeaterBench {
  const clock = virtualClock()
  const given: Outgoing[] = []
  const takenBack: string[] = []
  const one = digipeater({
    ...{ clock, random, distanceM },
    transmitter: {
      send(outgoing) {
        given.push(outgoing)
        if (bench.atOnce !== undefined) outgoing.onEnd?.(bench.atOnce)
        return (reason) => takenBack.push(reason)
      },
    },
    options: {
      ...{ own: ownCall, aliases: [], kind: 'wide', widestN: 2 },
      ...{ beyond: 'refuse', outOfTurn: false, routes: [{ from: 0, to: 0 }], ignored: [] },
      ...{ skip: [], perStationPerMinute: 1000, perMinute: 1000, notAfterMs: 10_000 },
      ...{ waitForOthersMs: 0, othersEnough: 1 },
      ...change,
    },
  })
  const hearOctets: DigipeaterBench['hearOctets'] = (
    octets,
    { radio = 0, repairedBits = 0 } = {},
  ) =>
    one.take({
      ...{ octets, radio, repairedBits, detector: 'test', quality: undefined },
      ...{ heardAtMs: clock.monotonicMs(), heardAtWallMs: clock.wallMs() },
    })
  const bench: DigipeaterBench = {
    ...{ digipeater: one, clock, given, takenBack, atOnce: undefined, hearOctets },
    hear: (line, more) => hearOctets(octetsOf(line), more),
    end: (index, outcome = sent) => given[index]!.onEnd?.(outcome),
    lines: () =>
      given.map(({ whole }) => {
        const decoded = decodeFrame(whole!)
        if (!decoded.ok) throw new Error(decoded.reason)
        return formatLine(decoded.frame)
          .replace(/>[^,:]*,?/, ' ')
          .replace(/:.*/, '')
      }),
    reasons: () => Object.fromEntries(one.reasons.map(({ reason, count }) => [reason, count])),
  }
  return bench
}

export function octetsOf(line: string): Uint8Array {
  const parsed = parseLine(line)
  if (!parsed.ok) throw new Error(`${line}: ${parsed.reason}`)
  return encodeFrame(parsed.frame)
}

/** SABM of a connection from Q7CAR-9 to Q8CAR by way of these (AX.25 2.2, 4.3.3.1: control 2F, with P 3F). */
export function connectionFrame(path: string): Uint8Array {
  const octets = octetsOf(`Q7CAR-9>Q8CAR,${path}:x`)
  // UI, PID and one octet of payload give way to SABM
  return Uint8Array.from([...octets.subarray(0, octets.length - 3), 0x3f])
}
