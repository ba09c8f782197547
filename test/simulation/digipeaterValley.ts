// Stations and digipeaters at random places, on one simulated channel, with or without waiting for others.
import { parseAddress } from '../../src/ax25/address.js'
import { decodeFrame, encodeFrame } from '../../src/ax25/frame.js'
import { parseLine } from '../../src/ax25/line.js'
import { copyKey } from '../../src/node/copies.js'
import { type Digipeater, digipeater } from '../../src/node/digipeater/digipeater.js'
import type { Outgoing, TakeBack, Transmitter } from '../../src/node/transmitter.js'
import type { Port } from '../../src/radio/port.js'
import type { Clock } from '../../src/runtime/clock.js'
import { type Random, seededRandom } from '../../src/runtime/random.js'
import { virtualClock } from '../../src/runtime/virtualClock.js'
import { createChannel } from '../../src/simulation/channel.js'
import { simulatedRadio } from '../../src/simulation/simulatedRadio.js'

export interface ValleyOptions {
  readonly seed: number
  readonly frameCount: number
  /** 'none': nobody repeats */
  readonly repeating: 'none' | 'at once' | 'waiting'
  readonly waitForOthersMs?: number
  readonly othersEnough?: number
  readonly lossShare?: number
  readonly path?: string
  /** each digipeater hears the one next to it only: WIDE2-2 goes round in a ring */
  readonly ring?: boolean
}

export interface ValleyResult {
  /** of all pairs of a frame and a station that did not send it: how many came, whatever way */
  readonly reachShare: number
  /** share of the time that somebody sends */
  readonly loadShare: number
  /** the same of each digipeater */
  readonly digipeaterShares: readonly number[]
  readonly repeatedCount: number
  /** content and time of each frame that went out, by digipeater */
  readonly repeats: readonly (readonly { readonly key: string; readonly atMs: number }[])[]
  readonly reasons: ReadonlyMap<string, number>
}

const digipeaterCount = 5
const stationCount = 12
/** Kilometres: hand-helds hear each other badly, a hill hears them well, hills hear each other over the whole valley. */
const sideKm = 60
const rangeKm = { betweenStations: 6, toHill: 25, betweenHills: 45 }
/** mean pause between two frames of all stations */
const pauseMs = 15_000

interface Place {
  readonly xKm: number
  readonly yKm: number
}

export async function runValley(options: ValleyOptions): Promise<ValleyResult> {
  const clock = virtualClock()
  const random = seededRandom(options.seed)
  const places = new Map<string, Place>()
  const place = (): Place => ({ xKm: random() * sideKm, yKm: random() * sideKm })
  const hills = Array.from({ length: digipeaterCount }, (_, index) => `Q1H${'ABCDE'[index]}`)
  const stations = Array.from({ length: stationCount }, (_, index) => `Q5CAR-${index + 1}`)
  for (const name of [...hills, ...stations]) places.set(name, place())
  const channel = createChannel({
    clock,
    random: seededRandom(options.seed + 1),
    lossShare: () => options.lossShare ?? 0.2,
    hears: options.ring ? ringHears(hills) : (from, to) => inReach(places, hills, from, to),
  })
  const portOf = (call: string, at: number): Port =>
    simulatedRadio({ clock, random: seededRandom(options.seed + 100 + at), channel, call })

  const repeats: { key: string; atMs: number }[][] = hills.map(() => [])
  const keyedMs = hills.map(() => 0)
  const digipeaters = hills.map((call, index) =>
    hillDigipeater(call, portOf(call, index), options, clock, seededRandom(options.seed + index), {
      onSent(key, airtimeMs) {
        repeats[index]!.push({ key, atMs: clock.monotonicMs() })
        keyedMs[index]! += airtimeMs
      },
    }),
  )
  const { came, send } = people(stations, portOf, clock, random, options)
  for (let sent = 0; sent < options.frameCount; sent++) {
    send(sent)
    await clock.advanceToAsync(clock.monotonicMs() + pauseMs * (0.5 + random()))
  }
  await clock.advanceToAsync(clock.monotonicMs() + 60_000)

  const pairCount = options.frameCount * (stationCount - 1)
  const totalMs = clock.monotonicMs()
  return {
    reachShare: came.size / pairCount,
    loadShare: channel.counters.keyedMs / totalMs,
    digipeaterShares: keyedMs.map((ms) => ms / totalMs),
    repeatedCount: repeats.reduce((sum, list) => sum + list.length, 0),
    repeats,
    reasons: sumOfReasons(digipeaters),
  }
}

function inReach(
  places: ReadonlyMap<string, Place>,
  hills: readonly string[],
  from: string,
  to: string,
): boolean {
  const [a, b] = [places.get(from)!, places.get(to)!]
  const hillCount = Number(hills.includes(from)) + Number(hills.includes(to))
  const km = [rangeKm.betweenStations, rangeKm.toHill, rangeKm.betweenHills][hillCount]!
  return Math.hypot(a.xKm - b.xKm, a.yKm - b.yKm) <= km
}

/** Hills in a ring, each with the stations; a frame may come back to the first one. */
const ringHears = (hills: readonly string[]) => (from: string, to: string) => {
  const [a, b] = [hills.indexOf(from), hills.indexOf(to)]
  if (a < 0 || b < 0) return true
  const apart = Math.abs(a - b)
  return apart === 1 || apart === hills.length - 1
}

function hillDigipeater(
  call: string,
  port: Port,
  { repeating, waitForOthersMs = 2000, othersEnough = 2 }: ValleyOptions,
  clock: Clock,
  random: Random,
  { onSent }: { onSent: (key: string, airtimeMs: number) => void },
): Digipeater | undefined {
  if (repeating === 'none') return undefined
  const own = parseAddress(call)
  if (!own.ok) throw new Error(own.reason)
  const one = digipeater({
    ...{ clock, random, transmitter: transmitterOf(port, onSent), distanceM: () => undefined },
    options: {
      ...{ own: own.value, aliases: [], kind: 'wide', widestN: 2, beyond: 'refuse' },
      ...{ outOfTurn: false, routes: [{ from: 0, to: 0 }], ignored: [], skip: [] },
      ...{ perStationPerMinute: 60, perMinute: 200, notAfterMs: 10_000, othersEnough },
      waitForOthersMs: repeating === 'waiting' ? waitForOthersMs : 0,
    },
  })
  port.onFrame(one.take)
  return one
}

/** What the node's transmitter does, without its journal: gives the frame to the radio, tells its end. */
function transmitterOf(
  port: Port,
  onSent: (key: string, airtimeMs: number) => void,
): Pick<Transmitter, 'send'> {
  const open = new Map<string, Outgoing>()
  let count = 0
  port.onOutcome((outcome) => {
    const outgoing = open.get(outcome.id)
    if (outgoing === undefined || outcome.kind === 'held') return
    open.delete(outcome.id)
    if (outcome.kind === 'sent') onSent(keyOf(outgoing.whole!), outcome.airtimeMs)
    outgoing.onEnd?.(outcome)
  })
  return {
    send(outgoing): TakeBack {
      const id = `${port.name} ${count++}`
      open.set(id, outgoing)
      const { priority, notAfterMs } = outgoing
      port.send({ id, octets: outgoing.whole!, priority, notAfterMs, origin: 'node' })
      return () => {
        open.delete(id)
        port.withdraw(id)
      }
    },
  }
}

/** Stations that send a status each, and note which of the others' came. */
function people(
  stations: readonly string[],
  portOf: (call: string, at: number) => Port,
  clock: Clock,
  random: Random,
  { path = 'WIDE1-1,WIDE2-1' }: ValleyOptions,
) {
  const came = new Set<string>()
  const ports = stations.map((call, index) => {
    const port = portOf(call, 50 + index)
    port.onFrame(({ octets }) => {
      const key = keyOf(octets)
      if (!key.startsWith(`${call}>`)) came.add(`${call} ${key}`)
    })
    return port
  })
  return {
    came,
    send(number: number): void {
      const at = Math.floor(random() * stations.length)
      const line = parseLine(`${stations[at]}>APZ001,${path}:>status ${number}`)
      if (!line.ok) throw new Error(line.reason)
      ports[at]!.send({
        ...{ id: `status ${number}`, octets: encodeFrame(line.frame), priority: 'beacon' },
        ...{ notAfterMs: clock.monotonicMs() + 20_000, origin: 'node' },
      })
    },
  }
}

function keyOf(octets: Uint8Array): string {
  const decoded = decodeFrame(octets)
  if (!decoded.ok) throw new Error(decoded.reason)
  return copyKey(decoded.frame)
}

function sumOfReasons(digipeaters: readonly (Digipeater | undefined)[]): Map<string, number> {
  const sums = new Map<string, number>()
  for (const { reason, count } of digipeaters.flatMap((one) => one?.reasons ?? []))
    sums.set(reason, (sums.get(reason) ?? 0) + count)
  return sums
}
