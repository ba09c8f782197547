// A long run of the real program, as the service starts it, under ten times the traffic of a busy hill: one on ALSA's own file
// plugin with arecord and aplay and a key line by command, one on audio over TCP. What grows is found here.
import { type ChildProcess, execFileSync, spawn } from 'node:child_process'
import {
  appendFileSync,
  cpSync,
  existsSync,
  readFileSync,
  rmSync,
  statSync,
  writeFileSync,
} from 'node:fs'
import { join } from 'node:path'
import { fileURLToPath } from 'node:url'
import { seededRandom } from '../../src/runtime/random.js'
import { alsaHome, hasAlsaTools } from '../audio/alsaHome.js'
import type { Bench } from './bench.js'
import { airRateHz, type BusyAir, busyAir } from './soak/busyAir.js'
import { type Part, partsOf } from './soak/processes.js'
import { serviceEnvironment } from './soak/serviceEnvironment.js'
import { type Slope, slopeOf } from './soak/slope.js'
import { type CardFolder, cardFolder } from './store/cardFolder.js'

/** One after the other, that is a frame in 1.2 s; a quiet hill has one in 12 s (bench card-writes). */
const meanMs = 800
const call = 'N0DE-10'
const sampleEveryMs = 15_000
/** Of the program's clock; what is read here is real time, `pace` times shorter. */
interface Pace {
  readonly pace: number
  /** what the program's processes are told of their clock */
  readonly env: NodeJS.ProcessEnv
}

/** Budgets, MB of PSS; the sum is what `run` with one sound-card radio may take. */
const budgetMb: Readonly<Record<string, number>> = {
  program: 100,
  'helper of the key line': 11,
  'waiting shells': 1,
  arecord: 4,
  aplay: 4,
}
const totalBudgetMb = 120
const slopeMbMax = 1
/**
 * Until its code is compiled and its tables are full, a program grows; an hour after the start, and each day from then on, what was
 * gathered is brought into the database, which takes room of its own. A shorter run is judged from a quarter of it on, and knows less.
 */
const warmUpS = 75 * 60
const shortestToJudgeS = 100 * 60
const warmUpOf = (lastS: number): number => (lastS < shortestToJudgeS ? lastS / 4 : warmUpS)

export const bench: Bench = {
  name: 'soak',
  about:
    'memory, handles, delays and growth of the real program over --minutes (60), --pace times as fast (1)',
  async run({ seed, output, minutes = 60, everyS = 300, pace: given = 1 }) {
    if (!Number.isInteger(given) || given < 1)
      throw new Error(`soak: got --pace ${given}, expected a whole number from 1`)
    if (!hasAlsaTools) throw new Error('soak: expected arecord and aplay; install alsa-utils')
    rmSync(programFolder, { recursive: true, force: true })
    cpSync(projectFile('dist/bundle'), programFolder, { recursive: true })
    const pace = paceOf(given)
    const air = busyAir(call, { meanMs, pace: given }, seededRandom(seed))
    const runs = [
      await startOnAlsa(air, output, everyS, pace),
      await startOnTcp(air, output, everyS, pace),
    ]
    try {
      await watch(runs, air, minutes, everyS)
    } finally {
      for (const { child } of runs) child.kill('SIGTERM')
      await Promise.all(
        runs.map(({ child }) => child.exitCode ?? new Promise((end) => child.once('exit', end))),
      )
      air.close()
      for (const { remove } of runs) remove()
    }
  },
}

interface Run {
  readonly name: string
  readonly child: ChildProcess
  /** the database lies on a file system of its own, whose writes are counted */
  readonly card: CardFolder
  /** lines of the probe */
  readonly probeFile: string
  readonly pace: number
  readonly samples: Sample[]
  heardCount(): number
  remove(): void
}

interface Sample {
  /** of the program's clock since the start */
  readonly atS: number
  readonly parts: readonly Part[]
  readonly databaseMb: number
  readonly writtenMb: number
}

/** What `soakProbe.mjs` writes, in real time. */
interface ProbeLine {
  readonly thread: 'main' | 'radio'
  readonly atS: number
  readonly heap: number
  readonly external: number
  /** of the whole process: pages of its own that are no file's, octets */
  readonly anonymous: number
  readonly late: { readonly p50: number; readonly p99: number; readonly max: number }
  readonly resources: Readonly<Record<string, number>>
}

function paceOf(pace: number): Pace {
  if (pace === 1) return { pace, env: {} }
  const clock = new URL('entry/pacedClock.mjs', import.meta.url)
  clock.search = new URLSearchParams({
    pace: String(pace),
    sinceNs: String(process.hrtime.bigint()),
    sinceMs: String(Date.now()),
  }).toString()
  return { pace, env: { NODE_OPTIONS: `--import ${clock.href}` } }
}

async function startOnAlsa(air: BusyAir, output: string, everyS: number, pace: Pace): Promise<Run> {
  const home = alsaHome()
  const { directory } = home
  // What is played is not kept: a long run would fill the disk.
  writeFileSync(
    join(directory, '.asoundrc'),
    `pcm.testout { type file slave.pcm null file "| cat > /dev/null" format raw }
pcm.testin { type file slave.pcm null file /dev/null infile ${home.recordedFile} format raw }
`,
  )
  execFileSync('mkfifo', [home.recordedFile])
  air.toFifo(home.recordedFile)
  const line = join(directory, 'keyed')
  const tables = `[audio]\ninput = "alsa:testin"\noutput = "alsa:testout"\nrateHz = ${airRateHz}
[ptt]\nkind = "command"\nkeyCommand = ["touch", "${line}"]\nunkeyCommand = ["rm", "-f", "${line}"]\n`
  return start({
    name: 'alsa',
    directory,
    env: home.env,
    tables,
    output,
    everyS,
    pace,
    remove: home.remove,
  })
}

async function startOnTcp(air: BusyAir, output: string, everyS: number, pace: Pace): Promise<Run> {
  const { directory, env, remove } = alsaHome()
  const place = `tcp:127.0.0.1:${await air.listen()}`
  const tables = `[audio]\ninput = "${place}"\noutput = "${place}"\nrateHz = ${airRateHz}
[ptt]\nkind = "log"\nlogFile = "${join(directory, 'edges.log')}"\n`
  return start({ name: 'tcp', directory, env, tables, output, everyS, pace, remove })
}

function start(given: {
  readonly name: string
  readonly directory: string
  readonly env: NodeJS.ProcessEnv
  readonly tables: string
  readonly output: string
  readonly everyS: number
  readonly pace: Pace
  readonly remove: () => void
}): Run {
  const { name, directory, output, pace } = given
  const config = join(directory, 'node.toml')
  const card = cardFolder()
  writeFileSync(
    config,
    `[station]\ncall = "${call}"\nlatitudeDeg = 45.2\nlongitudeDeg = -36.7
[transmit]\nenabled = true\n${given.tables}
[services.repeaters]\nfile = "${projectFile('samples/hilltop/repeaters.csv')}"
[store]\nfile = "${databaseOn(card)}"\n[kiss.tcp]\nport = 0\n[log]\nlevel = "all"\n`,
  )
  const probeFile = join(output, `soak-${name}.jsonl`)
  writeFileSync(probeFile, '')
  const probe = new URL('entry/soakProbe.mjs', import.meta.url)
  probe.search = new URLSearchParams({
    file: probeFile,
    everyS: String(given.everyS / pace.pace),
  }).toString()
  const program = join(programFolder, 'ridgepost.js')
  const child = spawn(process.execPath, ['--import', probe.href, program, 'run', config], {
    env: {
      ...given.env,
      ...serviceEnvironment(projectFile('systemd/ridgepost.service')),
      ...pace.env,
    },
    stdio: ['ignore', 'ignore', 'pipe'],
  })
  const logFile = join(output, `soak-${name}.log`)
  writeFileSync(logFile, '')
  let heard = 0
  let last = ''
  child.stderr.on('data', (text: Buffer) => {
    last = text.toString()
    appendFileSync(logFile, text)
    heard += last.match(/^\d\d:\d\d:\d\d heard /gm)?.length ?? 0
  })
  child.once('exit', (code) => {
    if (code) throw new Error(`${name}: run ended with ${code}: ${last}`)
  })
  return {
    ...{ name, child, card, probeFile, pace: pace.pace, samples: [] },
    remove() {
      card.remove()
      given.remove()
    },
    heardCount: () => heard,
  }
}

const projectFile = (path: string): string =>
  fileURLToPath(new URL(`../../${path}`, import.meta.url))

/** A copy of the program: one that is built anew while it runs would lose parts that it has not loaded. */
const programFolder = projectFile('dist/soak')

const pause = (ms: number): Promise<void> => new Promise((resume) => setTimeout(resume, ms))

async function watch(runs: readonly Run[], air: BusyAir, minutes: number, everyS: number) {
  const samplesFile = (run: Run): string => run.probeFile.replace(/\.jsonl$/, '-samples.jsonl')
  for (const run of runs) writeFileSync(samplesFile(run), '')
  const startMs = performance.now()
  const { pace } = runs[0]!
  const elapsedS = (): number => ((performance.now() - startMs) / 1000) * pace
  let toldS = 0
  console.log(
    'radio    min   heard   PSS MB   without files   heap+external MB main/radio   handles   loop p99 ms main/radio   database MB   written MB',
  )
  while (elapsedS() < minutes * 60) {
    await pause(sampleEveryMs / pace)
    for (const run of runs) {
      const sample = sampleOf(run, elapsedS())
      run.samples.push(sample)
      appendFileSync(samplesFile(run), `${JSON.stringify(sample)}\n`)
    }
    if (elapsedS() - toldS < everyS) continue
    toldS = elapsedS()
    for (const run of runs) console.log(rowOf(run))
  }
  const { frames, questions, lateBlocks, playedOctets } = air.counters
  console.log(
    `\n${frames} transmissions on the air, of them ${questions} questions; ${(playedOctets / 2 / airRateHz).toFixed(0)} s came back over TCP; ` +
      `${lateBlocks} blocks were too late for a reader\n`,
  )
  for (const run of runs) judge(run)
}

const databaseOn = ({ folder }: CardFolder): string => join(folder, 'ridgepost.db')

function sampleOf({ child, card }: Run, atS: number): Sample {
  const pid = child.pid!
  const files = ['', '-wal', '-heard']
    .map((end) => databaseOn(card) + end)
    .filter((file) => existsSync(file))
  return {
    atS,
    parts: partsOf(pid),
    databaseMb: files.reduce((sum, file) => sum + statSync(file).size, 0) / 1e6,
    writtenMb: card.writtenBytes() / 1e6,
  }
}

type Size = 'pssMb' | 'privateMb' | 'anonymousMb'
const totalMb = ({ parts }: Sample, size: Size): number =>
  parts.reduce((sum, part) => sum + part[size], 0)
const handlesOf = ({ parts }: Sample): number => parts.reduce((sum, part) => sum + part.handles, 0)

const probeLines = ({ probeFile, pace }: Run): ProbeLine[] =>
  readFileSync(probeFile, 'utf8')
    .trim()
    .split('\n')
    .filter(Boolean)
    .map((text) => JSON.parse(text) as ProbeLine)
    .map((line) => ({ ...line, atS: line.atS * pace }))

const linesOf = (run: Run, thread: ProbeLine['thread']): ProbeLine[] =>
  probeLines(run).filter((line) => line.thread === thread)

function rowOf(run: Run): string {
  const sample = run.samples.at(-1)!
  const last = (thread: ProbeLine['thread']): ProbeLine | undefined => linesOf(run, thread).at(-1)
  const [main, radio] = [last('main'), last('radio')]
  const held = (line: ProbeLine | undefined): string =>
    line === undefined ? '-' : ((line.heap + line.external) / 1e6).toFixed(2)
  return (
    `${run.name.padEnd(6)}${(sample.atS / 60).toFixed(0).padStart(6)}${String(run.heardCount()).padStart(8)}` +
    `${totalMb(sample, 'pssMb').toFixed(1).padStart(9)}${totalMb(sample, 'anonymousMb').toFixed(2).padStart(16)}${`${held(main)} / ${held(radio)}`.padStart(29)}` +
    `${String(handlesOf(sample)).padStart(10)}${`${main?.late.p99 ?? '-'} / ${radio?.late.p99 ?? '-'}`.padStart(26)}` +
    `${sample.databaseMb.toFixed(2).padStart(14)}${sample.writtenMb.toFixed(2).padStart(13)}`
  )
}

function judge(run: Run): void {
  const { samples } = run
  const lastS = samples.at(-1)!.atS
  const later = samples.filter(({ atS }) => atS >= warmUpOf(lastS))
  const hours = (lastS - later[0]!.atS) / 3600
  console.log(
    `== ${run.name}: the last ${(hours * 60).toFixed(0)} minutes of ${(lastS / 60).toFixed(0)}`,
  )
  // Pages that a collection frees are not given back at once: of single moments this scatters more than the means of many.
  const anonymous = linesOf(run, 'radio')
    .filter(({ atS }) => atS >= warmUpOf(lastS))
    .map((line) => [line.atS / 3600, line.anonymous / 1e6] as const)
  printSlope('memory of the program without files, after a collection', anonymous, false)
  // Of the files that it has mapped, another program's end gives it a larger share: that tells of the other one.
  const blocks = blockMeans(later, 'anonymousMb')
  printSlope('memory of all parts without files', blocks, true)
  const secondHalf = printSlope(
    'the same, of the second half',
    blocks.slice(Math.floor(blocks.length / 2)),
    false,
  )
  printSlope('PSS of all parts', blockMeans(later, 'pssMb'), false)
  for (const thread of ['main', 'radio'] as const) {
    const lines = linesOf(run, thread)
    const held = lines
      .filter(({ atS }) => atS >= warmUpOf(lastS))
      .map(({ atS, heap, external }) => [atS / 3600, (heap + external) / 1e6] as const)
    printSlope(`heap and external of ${thread} after a collection`, held, false)
    const late = lines.map((line) => line.late)
    const most = (name: 'p50' | 'p99' | 'max'): number => Math.max(...late.map((one) => one[name]))
    console.log(
      `  event loop of ${thread}: p50 ${most('p50')} ms, p99 ${most('p99')} ms, longest ${most('max')} ms`,
    )
  }
  const [first, last] = [later[0]!, later.at(-1)!]
  console.log(`  handles: ${handlesOf(first)} at first, ${handlesOf(last)} at last`)
  const databaseMb = (last.databaseMb - first.databaseMb) / hours
  const writtenMb = (last.writtenMb - first.writtenMb) / hours
  console.log(
    `  database: ${databaseMb.toFixed(2)} MB an hour; written to the card: ${writtenMb.toFixed(2)} MB an hour of ten ` +
      `times the traffic (${run.card.counted})`,
  )
  const hoursOf180Days = 180 * 24
  console.log(
    `  180 days at these rates, ten times the traffic: ${gigabytes(databaseMb * hoursOf180Days)} of database, were nothing ` +
      `left out after store.keepDays; ${gigabytes(writtenMb * hoursOf180Days)} written` +
      (hours < telling180DaysHours
        ? ''
        : `; memory at most ${gigabytes(Math.max(0, secondHalf.value + secondHalf.halfWidth) * hoursOf180Days)} more, by the upper end of the second half`),
  )
  printParts(later)
}

/** What takes its final size in the first hours would count as growth in a shorter run. */
const telling180DaysHours = 8

const gigabytes = (megabytes: number): string => `${(megabytes / 1000).toFixed(1)} GB`

/** Means of five minutes: samples in a row know of each other. */
function blockMeans(samples: readonly Sample[], size: Size): (readonly [number, number])[] {
  const blockS = Math.min(300, (samples.at(-1)!.atS - samples[0]!.atS) / 6)
  const blocks = new Map<number, Sample[]>()
  for (const sample of samples) {
    const block = Math.floor((sample.atS - samples[0]!.atS) / blockS)
    blocks.set(block, [...(blocks.get(block) ?? []), sample])
  }
  const mean = (values: readonly number[]): number =>
    values.reduce((sum, value) => sum + value, 0) / values.length
  return [...blocks.values()].map((own) => [
    mean(own.map(({ atS }) => atS)) / 3600,
    mean(own.map((sample) => totalMb(sample, size))),
  ])
}

function printSlope(
  what: string,
  points: readonly (readonly [number, number])[],
  isJudged: boolean,
): Slope {
  const slope = slopeOf(points)
  if (points.length < 3) {
    console.log(`  ${what}: ${points.length} points are too few for a slope`)
    return slope
  }
  const { value, halfWidth } = slope
  const upper = value + halfWidth
  const verdict = isJudged
    ? `; ${upper < slopeMbMax ? 'under' : 'NOT SHOWN TO BE UNDER'} ${slopeMbMax}`
    : ''
  console.log(
    `  ${what}: ${value.toFixed(2)} MB an hour, 95 % from ${(value - halfWidth).toFixed(2)} to ${upper.toFixed(2)} (${points.length} points)${verdict}`,
  )
  return slope
}

function printParts(samples: readonly Sample[]): void {
  const names = [...new Set(samples.flatMap(({ parts }) => parts.map(({ name }) => name)))]
  console.log('  part                        PSS MB, most   own pages MB   budget MB')
  for (const name of names) {
    const own = samples.map(({ parts }) => parts.filter((part) => part.name === name))
    const most = (field: Size): number =>
      Math.max(...own.map((parts) => parts.reduce((sum, part) => sum + part[field], 0)))
    const budget = budgetMb[name]
    const verdict = budget !== undefined && most('pssMb') > budget ? '  OVER' : ''
    console.log(
      `  ${name.padEnd(26)}${most('pssMb').toFixed(1).padStart(14)}${most('privateMb').toFixed(1).padStart(15)}${String(budget ?? '-').padStart(12)}${verdict}`,
    )
  }
  const totals = samples.map((sample) => totalMb(sample, 'pssMb')).toSorted((a, b) => a - b)
  const total = totals.at(-1)!
  const below = (share: number): string => totals[Math.floor(share * totals.length)]!.toFixed(1)
  console.log(
    `  all together               ${total.toFixed(1).padStart(13)}${' '.repeat(15)}${String(totalBudgetMb).padStart(12)}${total > totalBudgetMb ? '  OVER' : ''}
  half of the time below ${below(0.5)} MB of PSS, nineteen twentieths of it below ${below(0.95)}\n`,
  )
}
