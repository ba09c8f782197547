// How cost grows with what a node stores and hears, as a table with slopes: 1 is 'twice as much for twice as many', 0 is 'the same'.
import { execFile } from 'node:child_process'
import { createHash } from 'node:crypto'
import { mkdtempSync, rmSync, statSync } from 'node:fs'
import { tmpdir } from 'node:os'
import { join } from 'node:path'
import { fileURLToPath } from 'node:url'
import { promisify } from 'node:util'
import { encodeFrame } from '../../src/ax25/frame.js'
import { parseLine } from '../../src/ax25/line.js'
import { createNode } from '../../src/node/node.js'
import type { Clock } from '../../src/runtime/clock.js'
import { seededRandom } from '../../src/runtime/random.js'
import { type VirtualClock, virtualClock } from '../../src/runtime/virtualClock.js'
import { defaultNodeOptions } from '../../src/setup/defaultOptions.js'
import { openSqlite } from '../../src/store/sqliteDriver.js'
import { openStore, type Store } from '../../src/store/store.js'
import { echoService, TestPort } from '../node/testNode.js'
import { defaultStoreOptions } from '../store/openTestStore.js'
import { bench as askers } from './askers.js'
import type { Bench, BenchOptions } from './bench.js'
import { bench as decode } from './decode.js'
import { bench as liveCost } from './liveCost.js'
import { bench as passes } from './passes.js'
import { bench as services } from './services.js'
import { traffic } from './store/traffic.js'

const hourMs = 3_600_000
const dayMs = 24 * hourMs

export const bench: Bench = {
  name: 'growth',
  about:
    'how cost grows: frames, stations, letters; with --full also radios, recordings, lists, askers',
  async run(options) {
    const folder = mkdtempSync(join(tmpdir(), 'ridgepost-growth-'))
    try {
      await tableOf('frames', options.quick ? [1e4, 1e5] : [1e4, 1e5, 1e6], (count) =>
        ofFrames(folder, count, options),
      )
      await tableOf('stations', options.quick ? [1e2, 1e3, 1e4] : [1e2, 1e3, 1e4, 1e5], (count) =>
        ofStations(folder, count, options),
      )
      await tableOf('letters', options.quick ? [1e2, 1e3, 1e4] : [1e2, 1e3, 1e4, 1e5], (count) =>
        ofLetters(folder, count, options),
      )
    } finally {
      rmSync(folder, { recursive: true })
    }
    if (options.quick) return
    for (const part of [liveCost, decode, services, passes, askers]) {
      console.log(`\n${part.name}: ${part.about}\n`)
      await part.run(options)
    }
  },
}

type Figures = Readonly<Record<string, number>>

/** Prints a row for each count, and a row of slopes: log of the figures' ratio over log of the counts', first to last. */
async function tableOf(
  what: string,
  counts: readonly number[],
  measure: (count: number) => Promise<Figures>,
): Promise<void> {
  const rows: Figures[] = []
  for (const count of counts) {
    const figures = await measure(count)
    if (rows.length === 0) console.log(`\n${cells([what, ...Object.keys(figures)])}`)
    rows.push(figures)
    console.log(cells([count, ...Object.values(figures)]))
  }
  const span = Math.log(counts.at(-1)! / counts[0]!)
  const slopes = Object.keys(rows[0]!).map((name) =>
    (Math.log((rows.at(-1)![name]! + 1e-9) / (rows[0]![name]! + 1e-9)) / span).toFixed(2),
  )
  console.log(cells(['slope', ...slopes]))
}

const cells = (values: readonly (string | number)[]): string =>
  values
    .map((value) =>
      (typeof value === 'number' ? String(Number(value.toPrecision(3))) : value).padStart(18),
    )
    .join('')

/**
 * A node over a file, on a virtual clock whose calls are timed: while one runs, nothing else gets the main thread. Counted is the
 * process's CPU time, which other load on the machine does not change.
 */
function timedNode(file: string, seed: number, keepDays = 1_000) {
  const clock = virtualClock()
  let holdMsMax = 0
  const timed = (run: () => void): void => {
    const before = process.cpuUsage()
    run()
    const { user, system } = process.cpuUsage(before)
    holdMsMax = Math.max(holdMsMax, (user + system) / 1000)
  }
  const timedClock: Clock = { ...clock, at: (atMs, run) => clock.at(atMs, () => timed(run)) }
  const retention = {
    keepMs: keepDays * dayMs,
    keepStationsMs: keepDays * dayMs,
    sizeBytesMax: 1e12,
  }
  const store = openStore({
    ...defaultStoreOptions(clock),
    ...{ file, clock: timedClock, retention, stationsMax: 100_000, onFault: fail },
  })
  const port = new TestPort(clock)
  let id = 0
  const node = createNode({
    ...{ ports: [port], clock: timedClock, random: seededRandom(seed), nextId: () => `g${++id}` },
    ...{ store, services: [echoService] },
    options: defaultNodeOptions({ call: 'N0DE-10' }),
  })
  return {
    ...{ clock, store, port, node },
    start: () => timed(() => node.start()),
    takeHoldMs() {
      const ms = holdMsMax
      holdMsMax = 0
      return ms
    },
    close() {
      node.stop()
      store.close()
    },
  }
}

const fail = (failure: Error): never => {
  throw failure
}

/** Frames heard one every 12 s. */
function hearFrames(
  { clock, store, port }: { clock: VirtualClock; store: Store; port: TestPort },
  count: number,
  stationCount: number,
  seed: number,
): void {
  const heard = traffic(stationCount, seededRandom(seed))
  for (let number = 0; number < count; number++) {
    const { line, quality } = heard()
    const parsed = parseLine(line)
    if (!parsed.ok) throw new Error(`${line}: ${parsed.reason}`)
    port.hear(encodeFrame(parsed.frame), 0, quality)
    clock.advanceTo(clock.monotonicMs() + 12_000)
  }
  store.flush()
}

async function ofFrames(folder: string, count: number, { seed }: BenchOptions): Promise<Figures> {
  const file = join(folder, `frames-${count}.db`)
  const one = timedNode(file, seed)
  one.start()
  hearFrames(one, count, 400, seed)
  const writingMs = one.takeHoldMs()
  // Retention brings what was gathered into the tables once a day: the back-up is compared with these.
  await one.clock.advanceToAsync(one.clock.monotonicMs() + 26 * hourMs)
  const restMs = one.takeHoldMs()
  one.store.flush()
  const station = await costOfLog(file, ['--station', 'Q0AAA'])
  const kind = await costOfLog(file, ['--kind', 'heard'])
  const time = await costOfLog(file, ['--since', '36500d'])
  const backupMs = await backUpWhileWriting(file, one.store)
  one.close()
  const bytes = statSync(file).size
  const retentionMs = await holdOfRetention(file, count, seed)
  return {
    'MB on disk': bytes / 1e6,
    'log station s': station,
    'log kind s': kind,
    'log time s': time,
    'back-up s': backupMs / 1000,
    'flush hold ms': Math.max(writingMs, restMs),
    'retention hold ms': retentionMs,
  }
}

/** All past their time together, as after a change of the configuration: what retention does in its steps. */
async function holdOfRetention(file: string, count: number, seed: number): Promise<number> {
  const one = timedNode(file, seed, 0)
  one.start()
  one.takeHoldMs()
  await one.clock.advanceToAsync(count * 12_000 + 50 * hourMs)
  const ms = one.takeHoldMs()
  if (one.store.frames.countSince(0) > 0) throw new Error('frames are left that are too old')
  one.close()
  return ms
}

/** CPU seconds of a `log` of the newest 1,000. */
async function costOfLog(file: string, words: readonly string[]): Promise<number> {
  const main = fileURLToPath(new URL('../../dist/src/cli/main.js', import.meta.url))
  const report =
    'data:text/javascript,process.on("exit",()=>{const{user,system}=process.cpuUsage();console.error("cpu "+(user+system)/1e6)})'
  const { stderr } = await promisify(execFile)(
    process.execPath,
    ['--import', report, main, 'log', '--database', file, ...words],
    { maxBuffer: 1e9 },
  )
  return Number(/cpu ([\d.]+)/.exec(stderr)![1])
}

/**
 * Back-up by the program while this process writes each 40 ms: two counters in one transaction each time. The copy has both of
 * one moment, and every frame that the original has, row by row.
 * @returns how long it took, ms
 * @throws Error when it is not the copy of one moment
 */
async function backUpWhileWriting(file: string, store: Store): Promise<number> {
  const main = fileURLToPath(new URL('../../dist/src/cli/main.js', import.meta.url))
  const copy = `${file}.copy`
  let writes = 0
  const timer = setInterval(() => {
    writes++
    store.durably('two counts', () => [store.count('first'), store.count('second')])
  }, 40)
  const startMs = performance.now()
  await promisify(execFile)(process.execPath, [main, 'log', '--database', file, '--backup', copy])
  const tookMs = performance.now() - startMs
  clearInterval(timer)
  const [original, copied] = [
    openSqlite(file, { readOnly: true }),
    openSqlite(copy, { readOnly: true }),
  ]
  const counts = copied.all<{ value: number }>(
    "SELECT value FROM counters WHERE name IN ('first', 'second')",
  )
  if (counts[0]?.value !== counts[1]?.value) throw new Error('the copy is of two moments')
  // What was gathered beside the original's tables is in those of the copy: stations are told apart by that.
  for (const table of ['frames', 'events', 'messages', 'mailbox'])
    if (digestOf(original, table) !== digestOf(copied, table)) throw new Error(`${table} differ`)
  original.close()
  copied.close()
  rmSync(copy)
  if (writes === 0) throw new Error('nothing was written meanwhile')
  return tookMs
}

function digestOf(database: ReturnType<typeof openSqlite>, table: string): string {
  const hash = createHash('sha256')
  for (const row of database.iterate(`SELECT * FROM ${table} ORDER BY rowid`))
    hash.update(
      JSON.stringify(row, (_, value) => (typeof value === 'bigint' ? String(value) : value)),
    )
  return hash.digest('hex')
}

async function ofStations(folder: string, count: number, { seed }: BenchOptions): Promise<Figures> {
  const file = join(folder, `stations-${count}.db`)
  const one = timedNode(file, seed)
  one.start()
  for (let number = 0; number < count; number++) {
    const call = `Q${number % 10}${letters(number)}-${Math.floor(number / 175_760) % 15}`
    const parsed = parseLine(`${call}>APZ001:!4512.34N/03612.34W>on the road ${number}`)
    if (!parsed.ok) throw new Error(parsed.reason)
    port(one, encodeFrame(parsed.frame))
    if (number % 5_000 === 4_999) one.store.flush()
    one.clock.advanceTo(one.clock.monotonicMs() + 50)
  }
  await one.clock.advanceToAsync(one.clock.monotonicMs() + 12 * hourMs)
  const holdMs = one.takeHoldMs()
  const stored = one.store.state().stationCount
  one.close()
  const startMs = performance.now()
  const again = timedNode(file, seed)
  const openMs = performance.now() - startMs
  again.close()
  return {
    stored,
    'kB a station': bytesOfStations(file) / 1e3 / stored,
    'write hold ms': holdMs,
    'start ms': openMs,
  }
}

/** What the stations' rows and their indexes take: alone in a database of their own, less one that is empty. */
function bytesOfStations(file: string): number {
  const alone = `${file}.stations`
  openStore({ ...defaultStoreOptions(virtualClock()), file: alone, onFault: fail }).close()
  const emptyBytes = statSync(alone).size
  const database = openSqlite(alone)
  database.run('ATTACH ? AS whole', file)
  database.exec('INSERT INTO stations SELECT * FROM whole.stations')
  database.exec('DETACH whole')
  database.exec('VACUUM')
  database.close()
  const bytes = statSync(alone).size - emptyBytes
  rmSync(alone)
  return bytes
}

const port = (one: ReturnType<typeof timedNode>, octets: Uint8Array): void =>
  one.port.hear(octets, 0)

const letters = (number: number): string =>
  String.fromCharCode(
    65 + (Math.floor(number / 10) % 26),
    65 + (Math.floor(number / 260) % 26),
    65 + (Math.floor(number / 6760) % 26),
  )

/** Letters that expired while the node was off. */
async function ofLetters(folder: string, count: number, { seed }: BenchOptions): Promise<Figures> {
  const file = join(folder, `letters-${count}.db`)
  const before = timedNode(file, seed)
  const leftWallMs = before.clock.wallMs()
  before.store.durably('letters', () => {
    for (let number = 0; number < count; number++)
      before.store.mailbox.insert({
        ...{
          questionId: `${number}`,
          from: `Q1A${letters(number)}-7`,
          to: `Q2B${letters(number)}`,
        },
        ...{ text: `see you on the ridge, ${number}`, leftWallMs, expiryTrusted: true },
        expiresWallMs: leftWallMs + 1,
      })
  })
  before.close()
  const one = timedNode(file, seed, 365)
  one.start()
  const startMs = one.takeHoldMs()
  await one.clock.advanceToAsync(one.clock.monotonicMs() + 2 * hourMs + count * 6)
  const expiryMs = one.takeHoldMs()
  const left = one.store.mailbox.expired(one.clock.wallMs(), 1).length
  if (left > 0) throw new Error('letters are left that have expired')
  one.close()
  return {
    'start hold ms': startMs,
    'expiry hold ms': expiryMs,
    'MB on disk': statSync(file).size / 1e6,
  }
}
