import { twoline2satrec } from 'satellite.js'
import { type Random, seededRandom } from '../../src/runtime/random.js'
import { systemClock } from '../../src/runtime/systemClock.js'
import { cardIndex } from '../../src/services/cards/cardIndex.js'
import { conditionsService } from '../../src/services/conditions.js'
import { findService } from '../../src/services/find.js'
import { heardService } from '../../src/services/heard.js'
import { passService } from '../../src/services/pass.js'
import { repeaterIndex } from '../../src/services/repeaters/directory.js'
import { formatRepeaters } from '../../src/services/repeaters/formatRepeaters.js'
import { parseRepeaters } from '../../src/services/repeaters/parseRepeaters.js'
import { repeatersService } from '../../src/services/repeaters.js'
import type { Service, ServiceContext } from '../../src/services/service.js'
import { type ElementSet, elementSetOf } from '../../src/services/sky/elementSet.js'
import { sunService } from '../../src/services/sun.js'
import { whereService } from '../../src/services/where.js'
import { openStore, type Store } from '../../src/store/store.js'
import { geoSky } from '../published/geoSky.js'
import type { Bench } from './bench.js'

const repeaterCount = 50_000
const stationCount = 10_000
const cardCount = 5_000
const satelliteCount = 100
const hour = 3_600_000

/** Answer times of the services over large data, as one asker after the other would see them. */
export const bench: Bench = {
  name: 'services',
  about: `answer times over ${repeaterCount} repeaters, ${stationCount} stations heard, ${cardCount} cards`,
  async run({ seed, quick }) {
    const random = seededRandom(seed)
    const clock = systemClock()
    const timed = <T>(work: () => T): { readonly ms: number; readonly value: T } => {
      const startMs = cpuMs()
      const value = work()
      return { ms: cpuMs() - startMs, value }
    }

    const text = directoryText(random, repeaterCount)
    const parsed = timed(() => parseRepeaters(text))
    if (!parsed.value.ok) throw new Error(parsed.value.got)
    const { entries } = parsed.value
    const index = timed(() => repeaterIndex(entries))
    console.log(
      `directory: ${entries.length} repeaters, ${(text.length / 1e6).toFixed(1)} MB of CSV`,
    )
    console.log(
      `  CPU time to read ${parsed.ms.toFixed(0)} ms, to index ${index.ms.toFixed(0)} ms\n`,
    )

    const store = openStore({ file: ':memory:', clock, stationsMax: 2 * stationCount })
    fillStations(store, random, clock.wallMs())
    const elements = satellites(clock.wallMs())
    const position = { positionAgeMaxMs: 12 * hour }
    const cards = cardIndex(Array.from({ length: cardCount }, (_, at) => cardOf(at, random)))
    const repeaters = repeatersService({
      ...position,
      directory: () => index.value,
      rangeM: 20_100_000,
    })
    const conditions = conditionsService({
      ...position,
      instrument: { read: async () => undefined, close: async () => {} },
      readingAgeMaxMs: hour,
      reportAgeMaxMs: 2 * hour,
      rangeM: 150_000,
    })
    const pass = passService({
      ...position,
      elements: () => elements,
      elementAgeMaxMs: 30 * 24 * hour,
      elevationMinDeg: 10,
    })
    const call = (): string => `N0C${Math.floor(random() * stationCount)}`
    const rows: [string, Service, () => string, number | undefined][] = [
      ['repeaters 3', repeaters, () => '3', 5],
      ['repeaters 10 70cm', repeaters, () => '10 70cm', 5],
      ['heard', heardService(position), () => '', 5],
      ['heard CALL', heardService(position), call, 5],
      ['where CALL', whereService(position), call, 5],
      ['conditions', conditions, () => '', 5],
      [
        'find TOPIC',
        findService({ cards: () => cards }),
        () => `word${Math.floor(random() * 900)}`,
        undefined,
      ],
      ['pass NAME', pass, () => `BENCH ${Math.floor(random() * satelliteCount)}`, undefined],
      [`pass next (of ${satelliteCount})`, pass, () => 'next', undefined],
      ['sun', sunService(position), () => '', undefined],
    ]
    console.log(
      'question               asked   CPU ms (mean)   elapsed ms: median   largest   wanted',
    )
    for (const [name, service, rest, wantedMs] of rows) {
      const times: number[] = []
      let usedMs = 0
      const count = quick ? 20 : name.startsWith('pass next') ? 20 : 200
      for (let at = 0; at < count; at++) {
        const words = rest()
        const context = contextAt(store, random)
        const question = {
          id: `${name} ${at}`,
          from: 'N0CALL-7',
          text: words,
          rest: words,
          words: words === '' ? [] : words.split(' '),
        }
        const startMs = clock.monotonicMs()
        const startCpuMs = cpuMs()
        await service.answer(question, context)
        times.push(clock.monotonicMs() - startMs)
        usedMs += cpuMs() - startCpuMs
      }
      times.sort((a, b) => a - b)
      const median = times[times.length >> 1]!.toFixed(3)
      const largest = times.at(-1)!.toFixed(3)
      const wanted = wantedMs === undefined ? '' : `below ${wantedMs}`
      console.log(
        `${name.padEnd(22)} ${String(count).padStart(5)} ${(usedMs / count).toFixed(3).padStart(15)} ${median.padStart(20)} ${largest.padStart(9)}   ${wanted}`,
      )
    }
    store.close()
  },
}

/** Of this process: what an answer costs, whatever else the machine does. */
export const cpuMs = (): number => {
  const { user, system } = process.cpuUsage()
  return (user + system) / 1000
}

/** Anywhere on a continent of some 3,500 by 2,600 km. */
function somewhere(random: Random): { latitudeDeg: number; longitudeDeg: number } {
  return { latitudeDeg: 30 + 24 * random(), longitudeDeg: -60 + 45 * random() }
}

export function directoryText(random: Random, count: number): string {
  return formatRepeaters(
    Array.from({ length: count }, (_, at) => ({
      ...somewhere(random),
      name: `Invented Hill ${at}`,
      call: 'N0CALL',
      outputMHz: random() < 0.5 ? 144 + 4 * random() : 430 + 10 * random(),
      offset: { sign: -1 as const, shiftMHz: 0.6 },
      accessTone: { kind: 'tone' as const, toneHz: 100 },
      mode: 'FM',
    })),
  )
}

function fillStations(store: Store, random: Random, nowMs: number): void {
  for (let at = 0; at < stationCount; at++) {
    store.stations.add({
      call: `N0C${at}`,
      atWallMs: nowMs - random() * hour,
      radio: 0,
      via: [],
      position: somewhere(random),
      weather: { temperatureC: 40 * random() - 10, windSpeedMps: 10 * random() },
    })
  }
}

/** The published elements of 28057, spread around the earth and dated yesterday. */
function satellites(nowMs: number): ElementSet[] {
  const { line1, line2 } = geoSky.sgp4.cases.find(
    (one: { satellite: number }) => one.satellite === 28057,
  )
  return Array.from({ length: satelliteCount }, (_, at) => {
    const nodeDeg = ((at * 360) / satelliteCount).toFixed(4).padStart(8)
    return elementSetOf(`BENCH ${at}`, () => {
      const record = twoline2satrec(line1, `${line2.slice(0, 17)}${nodeDeg}${line2.slice(25)}`)
      record.jdsatepoch = (nowMs - 24 * hour) / 86_400_000 + 2440587.5
      return record
    })!
  })
}

export function cardOf(at: number, random: Random) {
  const word = (): string => `word${Math.floor(random() * 900)}`
  return {
    title: `Topic ${at} ${word()}`,
    keywords: [word()],
    text: Array.from({ length: 25 }, word).join(' '),
    place: '',
  }
}

export function contextAt(store: Store, random: Random): ServiceContext {
  return {
    askerPosition: { ...somewhere(random), ageMs: 0 },
    node: {
      call: 'N0CALL-10',
      position: { latitudeDeg: 45, longitudeDeg: -37 },
      positionSource: 'config',
      timeSource: 'system',
      utcOffsetMinutes: 0,
      units: 'km',
      heightM: 0,
    },
    clock: systemClock(),
    stations: store.stations,
    mailbox: {
      leave: () => ({ ok: true, waitingCount: 1, keptMs: 86_400_000 }),
      waitingFor: () => [],
      collect: () => [],
    },
    notices: { recent: () => [], post: () => ({ ok: true, keptMs: 86_400_000 }) },
    effects: { send: () => {}, post: () => {} },
    storage: { read: () => new Map(), write: () => {} },
    rehearsal: false,
    services: [],
  }
}
