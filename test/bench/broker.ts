import { mkdtempSync, rmSync } from 'node:fs'
import { tmpdir } from 'node:os'
import { join } from 'node:path'
import { seededRandom } from '../../src/runtime/random.js'
import { virtualClock } from '../../src/runtime/virtualClock.js'
import { BrokerHill } from '../node/broker/brokerHill.js'
import { cutKinds, SimBroker } from '../node/broker/simBroker.js'
import type { Bench } from './bench.js'

/** Of the simulated time: a node looks each minute, which is measured by itself. */
const lookEveryMs = 10 * 60_000
const lettersPerSiteDay = 20
const settleHours = 6
/** Of 30 sites a day takes some minutes: longer runs are of three. */
const daysOfAllMax = 10

interface Figures {
  readonly sites: number
  readonly left: number
  readonly delivered: number
  readonly faults: readonly string[]
  readonly cuts: number
  readonly messages: number
  readonly octets: number
  readonly cpuMs: number
  readonly lookMs: number
  readonly heapMb: number
}

/** So many sites on one broker, each a neighbour of all others; connections break at random steps. */
function live(sites: number, days: number, seed: number, folder: string): Figures {
  const clock = virtualClock()
  const random = seededRandom(seed)
  const broker = new SimBroker(clock)
  const heapBefore = process.memoryUsage().heapUsed
  const calls = Array.from({ length: sites }, (_, at) => `Q${at % 10}S${letters(at)}`)
  const hills = calls.map(
    (call) =>
      new BrokerHill(
        clock,
        broker,
        call,
        calls.filter((one) => one !== call),
        folder,
      ),
  )
  const people = calls.map((_, at) => `Q${at % 10}P${letters(at)}`)
  const got = new Map<string, number>()
  const told = new Set<string>()
  let left = 0
  let cuts = 0
  let looks = 0
  let lookCpuMs = 0
  const cpuBefore = process.cpuUsage()

  const step = (isBusy: boolean): void => {
    for (const [at, hill] of hills.entries()) {
      hill.hill.hear(people[at]!)
      if (isBusy && random() < (lettersPerSiteDay * lookEveryMs) / 86_400_000) {
        const to = people[Math.floor(random() * sites)]!
        const text = `letter ${left}`
        if (to !== people[at] && hill.hill.leave(`q${left}`, people[at]!, to, text)) {
          got.set(text, 0)
          left++
        }
      }
      if (isBusy && broker.cut === undefined && random() < 0.3) {
        const kind = cutKinds[Math.floor(random() * cutKinds.length)]!
        broker.cut = { after: Math.floor(random() * 60), kind }
        cuts++
      }
      const before = process.cpuUsage()
      hill.look()
      const { user, system } = process.cpuUsage(before)
      lookCpuMs += (user + system) / 1000
      looks++
    }
    clock.advanceTo(clock.monotonicMs() + lookEveryMs)
    for (const [at, hill] of hills.entries())
      for (const text of hill.collect(people[at]!)) got.set(text, (got.get(text) ?? 0) + 1)
  }
  const stepsPerDay = 86_400_000 / lookEveryMs
  for (let at = 0; at < days * stepsPerDay; at++) step(true)
  broker.cut = undefined
  const { messages, octets } = broker
  for (let at = 0; at < (settleHours / 24) * stepsPerDay; at++) step(false)
  const { user, system } = process.cpuUsage(cpuBefore)
  const cpuMs = (user + system) / 1000
  for (const hill of hills)
    for (const text of hill.reports) told.add(/letter \d+/.exec(text)?.[0] ?? '')
  const faults = [...got].flatMap(([text, count]) => {
    if (count > 1) return [`${text}: delivered ${count} times`]
    return count === 0 && !told.has(text) ? [`${text}: neither delivered nor told`] : []
  })
  const heapMb = (process.memoryUsage().heapUsed - heapBefore) / 1e6
  for (const { hill } of hills) hill.close()
  const delivered = [...got.values()].filter((count) => count > 0).length
  return {
    ...{ sites, left, delivered, faults, cuts, messages, octets, cpuMs },
    ...{ lookMs: lookCpuMs / looks, heapMb },
  }
}

const letters = (at: number): string =>
  String.fromCharCode(65 + Math.floor(at / 10)) + String.fromCharCode(65 + (at % 10))

/** How the hand-over over a broker grows. */
export const bench: Bench = {
  name: 'broker',
  about:
    '3, 10 and 30 sites on one broker, each with all others, of more than 10 days 3: messages, octets, CPU, memory',
  run({ seed, quick, days = quick ? 1 : 3 }) {
    console.log(
      '| sites | letters left | delivered | faults | cuts | messages a site and day | kB a site and day | CPU a site and day, s | CPU of a look, ms | heap a site, MB |',
    )
    console.log('|---|---|---|---|---|---|---|---|---|---|')
    for (const sites of days > daysOfAllMax ? [3] : [3, 10, 30]) {
      const folder = mkdtempSync(join(tmpdir(), 'broker-'))
      const one = live(sites, days, seed, folder)
      rmSync(folder, { recursive: true, force: true })
      const each = (value: number, digits = 0): string => (value / sites / days).toFixed(digits)
      const row = [
        ...[sites, one.left, one.delivered, one.faults.length, one.cuts, each(one.messages)],
        ...[each(one.octets / 1000), each(one.cpuMs / 1000, 2), one.lookMs.toFixed(1)],
        (one.heapMb / sites).toFixed(1),
      ]
      console.log(`| ${row.join(' | ')} |`)
      for (const fault of one.faults.slice(0, 5)) console.log(`  ${fault}`)
      if (one.faults.length > 0) process.exitCode = 1
    }
    return Promise.resolve()
  },
}
