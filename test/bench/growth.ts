// How cost grows with what a node stores and hears, as a table with slopes: 1 is 'twice as much for twice as many', 0 is 'the same'.
import { mkdtempSync, rmSync, statSync } from 'node:fs'
import { tmpdir } from 'node:os'
import { join } from 'node:path'
import { encodeFrame } from '../../src/ax25/frame.js'
import { parseLine } from '../../src/ax25/line.js'
import { virtualClock } from '../../src/runtime/virtualClock.js'
import { openSqlite } from '../../src/store/sqliteDriver.js'
import { openStore } from '../../src/store/store.js'
import { defaultStoreOptions } from '../store/openTestStore.js'
import type { Bench, BenchOptions } from './bench.js'
import { fail, fillUp, hearFrames, type TimedNode, timedNode } from './growth/filled.js'
import { ofAskers, ofLists, ofRecordings } from './growth/others.js'
import { holdsOfPage } from './growth/pageHold.js'
import { backUpWhileWriting, costOfFollow, costOfLog, logForms } from './growth/readers.js'
import { bench as liveCost } from './liveCost.js'
import { bench as passes } from './passes.js'

const hourMs = 3_600_000
/** Frames that are really heard; the others are these again, at later times. */
const heardCount = 10_000
/** Letters that end while the frames are there. */
const letterCount = 10_000

export const bench: Bench = {
  name: 'growth',
  about:
    'how cost grows: frames, stations, letters; with --full also radios, recordings, lists, askers',
  async run(options) {
    const folder = mkdtempSync(join(tmpdir(), 'ridgepost-growth-'))
    const frames = options.quick ? [1e4, 1e5] : [1e4, 1e5, 1e6]
    const rows = options.quick ? [1e2, 1e3, 1e4] : [1e2, 1e3, 1e4, 1e5]
    try {
      await tableOf('frames', frames, (count) =>
        ofFrames(folder, count, count === frames.at(-1), options),
      )
      await tableOf('stations', rows, (count) => ofStations(folder, count, options))
      await tableOf('letters', rows, (count) => ofLetters(folder, count, options))
    } finally {
      rmSync(folder, { recursive: true })
    }
    if (options.quick) return
    await tableOf('minutes recorded', [1, 10, 60, 360], (minutes) => ofRecordings(minutes, options))
    await tableOf('rows of lists', [1e3, 1e4, 1e5], (count) => ofLists(count, options))
    await tableOf('askers in 10 min', [10, 100, 1_000, 3_000], (count) => ofAskers(count, options))
    // element sets, and radios, which take processes of their own
    for (const part of [passes, liveCost]) {
      console.log(`\n${part.name}: ${part.about}\n`)
      await part.run(options)
    }
  },
}

export type Figures = Readonly<Record<string, number>>

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

/** A row of a million takes minutes: how far it is, on the error output, apart from the tables. */
const reached = (what: string): void =>
  console.error(`  ${what}, ${(performance.now() / 1000).toFixed(0)} s since the start`)

const cells = (values: readonly (string | number)[]): string =>
  values
    .map((value) =>
      (typeof value === 'number' ? String(Number(value.toPrecision(3))) : value).padStart(18),
    )
    .join('')

/** @param isLargest every form of `log` is measured, and every request of the page */
async function ofFrames(
  folder: string,
  count: number,
  isLargest: boolean,
  { seed }: BenchOptions,
): Promise<Figures> {
  const file = join(folder, `frames-${count}.db`)
  const first = timedNode(file, seed)
  first.start()
  await hearFrames(first, heardCount, 400, seed)
  first.close()
  const one = timedNode(file, seed, undefined, fillUp(file, count))
  reached(`${count} frames: filled up`)
  leaveLetters(one)
  one.start()
  one.takeHoldMs()
  await hearFrames(one, heardCount, 400, seed + 1)
  const writingMs = one.takeHoldMs()
  reached(`${count} frames: heard ${heardCount} more, ended ${letterCount} letters`)
  // Retention brings what was gathered into the tables once a day: the back-up is compared with these.
  await one.clock.advanceToAsync(one.clock.monotonicMs() + 26 * hourMs)
  const restMs = one.takeHoldMs()
  if (one.store.mailbox.expired(one.clock.wallMs(), 1).length > 0) throw new Error('letters left')
  one.store.flush()
  const station = await costOfLog(file, ['--station', 'Q0AAA'])
  const kind = await costOfLog(file, ['--kind', 'heard'])
  const time = await costOfLog(file, ['--since', '36500d'])
  reached(`${count} frames: asked`)
  const backup = await backUpWhileWriting(file, one.store)
  reached(`${count} frames: backed up`)
  if (isLargest) await inDetail(file, one)
  one.close()
  reached(`${count} frames: closed`)
  const bytes = statSync(file).size
  const retentionMs = await holdOfRetention(file, count, one.clock.wallMs(), seed)
  rmSync(file)
  return {
    'MB on disk': bytes / 1e6,
    'log station s': station.cpuS,
    'log kind s': kind.cpuS,
    'log time s': time.cpuS,
    'back-up s': backup.tookMs / 1000,
    'back-up CPU s': backup.cpuS,
    'hear hold ms': writingMs,
    'rest hold ms': restMs,
    'retention hold ms': retentionMs,
  }
}

/** Letters that wait, and end within the day. */
function leaveLetters({ store, clock }: TimedNode): void {
  const leftWallMs = clock.wallMs()
  store.durably('letters', () => {
    for (let number = 0; number < letterCount; number++)
      store.mailbox.insert({
        ...{ questionId: `L${number}`, from: `Q1A${letters(number)}-7` },
        ...{ to: `Q2B${letters(number)}`, text: `see you on the ridge, ${number}` },
        ...{ leftWallMs, expiresWallMs: leftWallMs + 4 * hourMs, expiryTrusted: true },
      })
  })
}

async function inDetail(file: string, one: TimedNode): Promise<void> {
  console.log(
    '\n  request of the page, the most rows of each: CPU ms of the main thread, longest step ms',
  )
  for (const [path, ms, stepMs] of await holdsOfPage(one))
    console.log(`  ${path.padEnd(34)}${ms.toFixed(0).padStart(8)}${stepMs.toFixed(0).padStart(8)}`)
  console.log(`\n  ${'log, of which'.padEnd(28)}  CPU s   most memory MB`)
  for (const [name, words] of logForms) {
    const { cpuS, peakMb } = await costOfLog(file, words)
    console.log(
      `  ${name.padEnd(28)}${cpuS.toFixed(2).padStart(7)}${peakMb.toFixed(0).padStart(17)}`,
    )
  }
  for (const words of [[], ['--kind', 'fault'], ['--station', 'Q0AAA']]) {
    const share = await costOfFollow(file, words)
    console.log(
      `  --follow ${words.join(' ')}: ${(100 * share).toFixed(2)} % of a core while nothing happens`,
    )
  }
  console.log('')
}

/** All past their time together, as after a change of the configuration: what retention does in its steps. */
async function holdOfRetention(
  file: string,
  count: number,
  wallMs: number,
  seed: number,
): Promise<number> {
  const one = timedNode(file, seed, 0, wallMs)
  one.start()
  one.takeHoldMs()
  await one.clock.advanceToAsync(50 * hourMs + 10 * count)
  const ms = one.takeHoldMs()
  if (one.store.frames.countSince(0) > 0) throw new Error('frames are left that are too old')
  one.close()
  return ms
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
