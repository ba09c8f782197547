// How long a key line stays on after whatever ends or stops the program: a real radio with its thread, helper and key line,
// killed, stopped and hung at random moments of its transmissions, while other programs want every processor.
import { type ChildProcess, spawn } from 'node:child_process'
import {
  chownSync,
  mkdirSync,
  mkdtempSync,
  readdirSync,
  readFileSync,
  rmSync,
  statSync,
  writeFileSync,
} from 'node:fs'
import { loadavg, setPriority, tmpdir } from 'node:os'
import { join } from 'node:path'
import { fileURLToPath } from 'node:url'
import type { RadioSetup } from '../../src/radio/workerMessages.js'
import { type Random, seededRandom } from '../../src/runtime/random.js'
import { pttDefaults } from '../ptt/helperProcess.js'
import { transmitDefaults } from '../radio/fixtures.js'
import type { Bench, BenchOptions } from './bench.js'

/** The promise. */
const promisedMs = 250
/** So long after it is on at most something happens: the transmission lasts for 6 s. */
const laterMsMax = 1500
const hangMs = 600
/** What is not seen to be off by then never goes off. */
const giveUpMs = 10_000
/** A host that has not keyed by then does not come up. */
const comeUpMs = 300_000
/** A machine that kept this process itself from running for so long around its own stamp proves nothing. */
const ownPauseMsMax = 20
/** A radio whose line was cut waits before it keys again, twice as long each time. */
const trialsPerHost = 3
const helperNeedle = 'deadManHelper'

const deeds = ['kill program', 'stop program', 'hang thread', 'kill helper'] as const
type Deed = (typeof deeds)[number]
const kinds = ['command', 'log'] as const
type Kind = (typeof kinds)[number]

interface Trial {
  readonly kind: Kind
  readonly deed: Deed
  /** from the deed to the line's being off; Infinity where it never was, undefined where that cannot be judged */
  readonly latencyMs: number | undefined
  /** the line came on again while nobody could have wanted it */
  readonly keyedAgain: boolean
  /** of the machine, whatever makes it */
  readonly loadAverage: number
}

export const bench: Bench = {
  name: 'unkey',
  about:
    'a key line is off so long after its program was killed, stopped or hung (--kills, --load, --user)',
  async run(options) {
    const kills = options.kills ?? (options.quick ? 40 : 1000)
    raiseOwnPriority()
    const load = Array.from({ length: options.load ?? 10 }, () =>
      spawn('sh', ['-c', 'while :; do :; done'], { stdio: 'ignore', detached: true }),
    )
    const trials: Trial[] = []
    try {
      for (const kind of kinds) {
        const count = Math.ceil(kills / kinds.length)
        trials.push(...(await series(kind, count, options)))
      }
    } finally {
      for (const child of load) child.kill('SIGKILL')
    }
    print(trials, load.length)
    const loads = trials.map(({ loadAverage }) => loadAverage).sort((a, b) => a - b)
    const [least, middle, most] = [0, 0.5, 1].map((share) =>
      loads[Math.floor(share * (loads.length - 1))]!.toFixed(1),
    )
    console.log(
      `\nThe machine's load average of a minute meanwhile: ${least} to ${most}, median ${middle}.`,
    )
  },
}

/** So that its stamps are those of the deed. */
function raiseOwnPriority(): void {
  try {
    setPriority(-20)
  } catch {
    console.log('This process may not raise its own priority: stamps are less certain.\n')
  }
}

async function series(kind: Kind, count: number, options: BenchOptions): Promise<Trial[]> {
  const random = seededRandom(options.seed)
  const trials: Trial[] = []
  let host = startHost(kind, options.user)
  let next: Host | undefined
  let used = 0
  while (trials.length < count) {
    const deed = deeds[Math.floor(random() * deeds.length)]!
    const isLast = deed === 'kill program' || ++used === trialsPerHost
    if (isLast) next ??= startHost(kind, options.user)
    trials.push(await trial(host, kind, deed, random))
    if (trials.length % 10 === 0) process.stderr.write(`\r  ${kind}: ${trials.length} of ${count} `)
    if (!isLast) continue
    used = 0
    host.close()
    host = next!
    next = undefined
  }
  host.close()
  next?.close()
  process.stderr.write('\r')
  return trials
}

async function trial(host: Host, kind: Kind, deed: Deed, random: Random): Promise<Trial> {
  const freshMs = nowMs()
  const keyed = () => (host.line().onMs > freshMs && host.line().isOn) || undefined
  if (!(await until(keyed, comeUpMs))) throw new Error(`${kind}: the radio did not key in time`)
  // Half of them early: while keying is under way, or just over.
  await pause(random() < 0.5 ? random() * 60 : random() * laterMsMax)
  const odd = random() < 0.5 ? 1 : 0
  const doneMs = await act(host, deed, hangMs + odd)
  const off = () => (host.line().isOn ? undefined : host.line().offMs)
  const offMs = (await until(off, giveUpMs)) ?? Number.POSITIVE_INFINITY
  let keyedAgain = false
  if (deed !== 'kill helper') {
    await pause(Math.max(0, (doneMs ?? 0) + hangMs - 100 - nowMs()))
    keyedAgain = host.line().onMs > offMs
  }
  if (deed === 'stop program') host.process.kill('SIGCONT')
  // A busy machine may have kept the radio from its line's watch, which was cut before the deed.
  const isJudged = doneMs !== undefined && offMs >= doneMs
  const latencyMs = isJudged ? offMs - doneMs : undefined
  return { kind, deed, keyedAgain, latencyMs, loadAverage: loadavg()[0]! }
}

/** @returns when it was done, wall clock; undefined where this process did not run around it */
async function act(host: Host, deed: Deed, ms: number): Promise<number | undefined> {
  if (deed === 'hang thread') {
    const told = host.nextHang()
    host.process.stdin!.write(`${ms}\n`)
    return told
  }
  const target = deed === 'kill helper' ? host.helper() : host.process.pid!
  const beforeMs = nowMs()
  process.kill(target, deed === 'stop program' ? 'SIGSTOP' : 'SIGKILL')
  return nowMs() - beforeMs > ownPauseMsMax ? undefined : beforeMs
}

interface Host {
  readonly process: ChildProcess
  helper(): number
  line(): LineState
  nextHang(): Promise<number>
  close(): void
}

interface LineState {
  readonly isOn: boolean
  /** when it came on and went off last, wall clock, ms */
  readonly onMs: number
  readonly offMs: number
}

function startHost(kind: Kind, user: number | undefined): Host {
  const folder = mkdtempSync(join(tmpdir(), 'ridgepost-unkey-'))
  const marks = join(folder, 'marks')
  mkdirSync(marks)
  // The time that a file was made is the time at which the line moved: no clock has to be asked, which would take longer.
  const on = script(join(folder, 'on'), `: > ${marks}/on.$$`)
  const off = script(join(folder, 'off'), `: > ${marks}/off.$$`)
  const logFile = join(folder, 'edges.log')
  if (user !== undefined) chownAll(folder, user)
  const host = spawn(
    process.execPath,
    [
      fileURLToPath(new URL('entry/unkeyHost.mjs', import.meta.url)),
      JSON.stringify(setupOf(kind, folder, on, off, logFile)),
    ],
    {
      stdio: ['pipe', 'pipe', 'inherit'],
      detached: true,
      ...(user !== undefined && { uid: user, gid: user }),
    },
  )
  let said = ''
  const hangs: ((atMs: number) => void)[] = []
  host.stdout!.setEncoding('utf8').on('data', (text: string) => {
    const lines = (said + text).split('\n')
    said = lines.pop()!
    for (const line of lines) {
      const atMs = /^hang (\d+)/.exec(line)?.[1]
      if (atMs !== undefined) hangs.shift()?.(Number(atMs))
    }
  })
  return {
    process: host,
    helper: () => processWith(folder, helperNeedle),
    line: () => (kind === 'command' ? markedLine(marks) : loggedLine(logFile)),
    nextHang: () => new Promise((resolve) => hangs.push(resolve)),
    close() {
      host.kill('SIGKILL')
      setTimeout(() => rmSync(folder, { recursive: true, force: true }), 3000)
    },
  }
}

const setupOf = (
  kind: Kind,
  folder: string,
  on: string,
  off: string,
  logFile: string,
): RadioSetup => ({
  ...{ radio: 0, name: 'radio', levelDbfs: -6, toneBalanceDb: 0 },
  transmit: {
    ...transmitDefaults,
    dutyLimits: [],
    access: { ...transmitDefaults.access, fullDuplex: true, keyDelayMs: 100 },
  },
  audio: {
    ...{ input: `unix:${join(folder, 'air')}`, output: `unix:${join(folder, 'air')}`, channel: 0 },
    ...{ sampleRateHz: 8000, sampleFormat: 's16le', channelCount: 1 },
  },
  receiver: { repair: 'none' },
  ptt: {
    ...pttDefaults,
    kind,
    keyCommand: [on],
    unkeyCommand: [off],
    logFile: kind === 'log' ? logFile : '',
  },
  holdFile: '',
  holdInput: { kind: 'none', device: '', activeLow: false, command: [], intervalMs: 500 },
})

function script(file: string, line: string): string {
  writeFileSync(file, `#!/bin/sh\n${line}\n`, { mode: 0o755 })
  return file
}

function chownAll(folder: string, user: number): void {
  for (const path of [folder, ...readdirSync(folder).map((name) => join(folder, name))])
    chownSync(path, user, user)
}

function markedLine(folder: string): LineState {
  const marks = readdirSync(folder).map((name) => ({
    name,
    atMs: statSync(join(folder, name)).mtimeMs,
  }))
  const latest = (edge: string): number =>
    Math.max(0, ...marks.filter(({ name }) => name.startsWith(edge)).map(({ atMs }) => atMs))
  const [onMs, offMs] = [latest('on.'), latest('off.')]
  for (const { name, atMs } of marks) if (atMs < onMs && atMs < offMs) rmSync(join(folder, name))
  return { isOn: onMs > offMs, onMs, offMs }
}

function loggedLine(file: string): LineState {
  let [onMs, offMs] = [0, 0]
  let isOn = false
  for (const line of readText(file).split('\n')) {
    const [wall, , edge] = line.split(' ')
    if (edge === undefined) continue
    isOn = edge === 'keyed'
    if (isOn) onMs = Date.parse(wall!)
    else offMs = Date.parse(wall!)
  }
  return { isOn, onMs, offMs }
}

function readText(file: string): string {
  try {
    return readFileSync(file, 'utf8')
  } catch {
    return ''
  }
}

function processWith(...needles: string[]): number {
  for (const id of readdirSync('/proc').filter((name) => /^\d+$/.test(name))) {
    const words = readText(`/proc/${id}/cmdline`)
    if (needles.every((needle) => words.includes(needle))) return Number(id)
  }
  throw new Error(`no process with ${needles.join(' and ')}`)
}

const nowMs = (): number => performance.timeOrigin + performance.now()

const pause = (ms: number): Promise<void> => new Promise((resolve) => setTimeout(resolve, ms))

async function until<Found>(
  look: () => Found | undefined,
  lastsMs: number,
): Promise<Found | undefined> {
  const endMs = nowMs() + lastsMs
  while (nowMs() < endMs) {
    const found = look()
    if (found !== undefined) return found
    await pause(3)
  }
  return undefined
}

function print(trials: readonly Trial[], load: number): void {
  console.log(
    `Off so many ms after, with ${load} busy loops beside it; promised: within ${promisedMs}.\n`,
  )
  console.log(
    '  key line  what happened    times  median     90 %     99 %      max   late  on again  not judged',
  )
  for (const kind of kinds)
    for (const deed of deeds) {
      const own = trials.filter((one) => one.kind === kind && one.deed === deed)
      const judged = own.flatMap(({ latencyMs }) => (latencyMs === undefined ? [] : [latencyMs]))
      judged.sort((a, b) => a - b)
      const at = (share: number): string =>
        (judged[Math.floor(share * (judged.length - 1))] ?? Number.NaN).toFixed(0).padStart(9)
      const late = judged.filter((ms) => ms > promisedMs).length
      console.log(
        `  ${kind.padEnd(9)} ${deed.padEnd(13)} ${String(judged.length).padStart(8)}${at(0.5)}${at(0.9)}${at(0.99)}${at(1)}${String(late).padStart(7)}${String(own.filter(({ keyedAgain }) => keyedAgain).length).padStart(10)}${String(own.length - judged.length).padStart(12)}`,
      )
    }
}
