import { encodeFrame } from '../../../src/ax25/frame.js'
import { parseLine } from '../../../src/ax25/line.js'
import type { OpenSession, Peer, Session } from '../../../src/node/connected/session.js'
import type { CalledHills, HillCarrier } from '../../../src/node/hills/hillCarrier.js'
import type { NeighbourOptions } from '../../../src/node/hills/hillParts.js'
import { type Hills, hills } from '../../../src/node/hills/hills.js'
import type { Outgoing } from '../../../src/node/transmitter.js'
import type { HeardFrame } from '../../../src/radio/port.js'
import { type BenchChange, ledgerBench, peer, trustingNeighbour } from './ledgerBench.js'

export const hillEpoch = 'b'.repeat(8)

/** One of the sessions of the node under test, and what the other end says in it. */
export interface Talk {
  readonly call: string
  readonly session: Session
  /** what the node said in it, by line */
  readonly said: string[]
  readonly isClosed: () => boolean
  say(...lines: readonly string[]): void
  /** The other has all that is offered, and nothing of its own. */
  complete(): void
}

/** A node's hills, with everything around them played by a test. */
export function hillsBench(
  change: BenchChange & {
    readonly neighbours?: readonly NeighbourOptions[]
    readonly withCarrier?: boolean
  } = {},
) {
  const neighbours = change.neighbours ?? [trustingNeighbour]
  const bench = ledgerBench({ ...change, options: { neighbours, ...change.options } })
  const { clock } = bench
  const sent: Outgoing[] = []
  const calls: { by: string; call: string; openSession: OpenSession; onEnded: () => void }[] = []
  const port = { channelBusy: false, keyed: false }
  const around = {
    ...{ random: 0.5, quietUntil: undefined as string | undefined, isBusy: false },
    ...{ blockedBy: undefined as string | undefined, takesCall: true, hasPort: true },
  }
  const online = new Set<string>()
  let called: CalledHills | undefined
  let isStopped = false
  const carrier: HillCarrier = {
    ...{ everyMs: 600_000, turnOctets: 30_000 },
    start: (given) => {
      called = given
    },
    stop: () => {
      isStopped = true
    },
    reaches: (call) => online.has(call),
    call: (call, openSession, onEnded) => {
      calls.push({ by: 'broker', call, openSession, onEnded })
      return around.takesCall
    },
  }
  let ids = 0
  const own: Hills = hills({
    ...bench.parts,
    random: () => around.random,
    nextId: () => `id ${++ids}`,
    ports: [
      { radio: 1, state: () => ({ channelBusy: true, keyed: true }) as never },
      {
        get radio() {
          return around.hasPort ? 0 : 2
        },
        state: () => port as never,
      },
    ],
    transmitter: {
      send: (outgoing) => {
        sent.push(outgoing)
        return () => {}
      },
      isBusy: (radio) => radio === 0 && around.isBusy,
      blockedBy: (radio) => (radio === 0 ? around.blockedBy : undefined),
    },
    quietUntil: () => around.quietUntil,
    carrier: change.withCarrier === true ? carrier : undefined,
  })
  const start = (): void =>
    own.start({
      call: (call, radio, openSession, onEnded) => {
        calls.push({ by: `radio ${radio}`, call, openSession, onEnded })
        return around.takesCall
      },
    })
  const hear = (line: string, more: Partial<HeardFrame> = {}): void => {
    const parsed = parseLine(line)
    if (!parsed.ok) throw new Error(parsed.reason)
    const octets = encodeFrame(parsed.frame)
    own.take({
      ...{ octets, radio: 0, heardAtMs: clock.monotonicMs(), heardAtWallMs: 0 },
      ...{ repairedBits: 0, detector: 'test', ...more },
    })
  }
  /** How many calls the node makes by then, and to whom. */
  const callsUntil = (atMs: number): string[] => {
    const before = calls.length
    clock.advanceTo(atMs)
    return calls.slice(before).map(({ by, call }) => `${call} by ${by}`)
  }
  return {
    ...{
      ...bench,
      hills: own,
      sent,
      calls,
      port,
      around,
      online,
      carrier,
      start,
      hear,
      callsUntil,
    },
    announce: (call = peer) => hear(`${call}>APZRPT:{{H1 ${call} mlnswd 0`),
    called: () => called!,
    isStopped: () => isStopped,
  }
}

/** A session opened as a link opens it. */
export function talkOver(openSession: OpenSession, call = peer): Talk {
  const said: string[] = []
  let closed = false
  const link: Peer = {
    ...{ call, waitingOctets: 0, setReady: () => {} },
    write: (octets) => {
      said.push(...Buffer.from(octets).toString().split('\r').slice(0, -1))
      return true
    },
    close: () => {
      closed = true
    },
  }
  const session = openSession(link)
  session.begin()
  const say = (...lines: readonly string[]): void => {
    for (const line of lines) session.receive(new TextEncoder().encode(`${line}\r`), 0xf0)
  }
  return {
    ...{ call, session, said, isClosed: () => closed, say },
    complete() {
      say(`hill 1 ${call} ${hillEpoch} 0 0 ${'b'.repeat(16)}`)
      say(said.find((line) => line.startsWith('session '))!)
      const offers = said.filter((line) => line.startsWith('offer '))
      say(...offers.map((line) => `have ${line.split(' ')[1]}`))
      if (offers.length > 0) say('answered')
      say('nothing')
    },
  }
}
