// Tries every mutant of some files by the tests that take it, thousands in a process, with no run of vitest for each. What only
// whole processes show is not seen here.
import { type ChildProcess, fork } from 'node:child_process'
import { readFileSync } from 'node:fs'
import { join } from 'node:path'
import { fileURLToPath } from 'node:url'
import { root } from '../../tidy/sources.js'
import { type Bundle, bundled } from './bundles.js'
import { instrumented, type Mutant } from './instrumented.js'
import type { BundleCoverage, Order, Status, Step, Word } from './messages.js'
import { plansOf } from './plans.js'

export interface TriedMutant extends Mutant {
  readonly status: Status
}

export interface Trial {
  readonly mutants: readonly TriedMutant[]
  /** test files that cannot stand in one script, and tests that fail in one */
  readonly leftOut: readonly string[]
}

/**
 * @param places files of the program from the root, whole or with their lines ('src/node/turns.ts:9-16')
 * @param tests test files
 * @param folder for what is built
 * @param jobs processes side by side
 * @param onProgress every hundred mutants
 */
export async function tryMutants(
  places: readonly string[],
  tests: readonly string[],
  folder: string,
  jobs: number,
  onProgress: (tried: number, all: number, left: number) => void,
): Promise<Trial> {
  const { mutants, texts } = await instrumented(places)
  const { bundles, leftOut } = await bundled(tests, texts, folder)
  const { coverage, failed } = await triedOnce(bundles, folder)
  const plans = plansOf(mutants, bundles, coverage)
  const statuses = new Map<string, Status>()
  const note = (mutant: string, status: Status): void => {
    statuses.set(mutant, status)
    const left = [...statuses.values()].filter((one) => one === 'Survived' || one === 'NoCoverage')
    if (statuses.size % 100 === 0) onProgress(statuses.size, mutants.length, left.length)
  }
  const shares = Array.from({ length: jobs }, (_, job) =>
    mutants.filter((_, number) => number % jobs === job).map(({ id }) => id),
  )
  await Promise.all(shares.map((ids) => tryShare(ids, bundles, plans, folder, note)))
  return {
    mutants: mutants.map((mutant) => ({ ...mutant, status: statuses.get(mutant.id)! })),
    leftOut: [...leftOut, ...failed],
  }
}

/** One process after the other, until all are tried: one that does not end takes its process with it. */
async function tryShare(
  ids: readonly string[],
  bundles: readonly Bundle[],
  plans: ReadonlyMap<string, readonly Step[]>,
  folder: string,
  note: (mutant: string, status: Status) => void,
): Promise<void> {
  const tried = new Set<string>()
  while (tried.size < ids.length) {
    const left = ids.filter((id) => !tried.has(id))
    const order = left.map((mutant) => ({ mutant, steps: plans.get(mutant)! }))
    const before = tried.size
    const hung = await inProcess(folder, { bundles: filesOf(bundles), plans: order }, (word) => {
      if (word.word !== 'ended') return
      tried.add(word.mutant)
      note(word.mutant, word.status)
    })
    if (hung !== undefined) {
      tried.add(hung)
      note(hung, 'Timeout')
    }
    if (tried.size === before) throw new Error('the process that tries mutants ends by itself')
  }
}

async function triedOnce(
  bundles: readonly Bundle[],
  folder: string,
): Promise<{ coverage: readonly BundleCoverage[]; failed: readonly string[] }> {
  let result: Extract<Word, { word: 'tried' }> | undefined
  await inProcess(folder, { bundles: filesOf(bundles), plans: undefined }, (word) => {
    if (word.word === 'tried') result = word
  })
  if (result === undefined) throw new Error('the tests end the process that runs them')
  return result
}

const filesOf = (bundles: readonly Bundle[]): string[] => bundles.map(({ file }) => file)

const lookEveryMs = 250
/** Of one test, whatever else the machine has to do. */
const realMsMax = 1_800_000

/** @returns the mutant that kept the process from ending, or ended it */
function inProcess(
  folder: string,
  order: Order,
  onWord: (word: Word) => void,
): Promise<string | undefined> {
  const child = fork(fileURLToPath(new URL('trial.ts', import.meta.url)), {
    cwd: root,
    env: { ...process.env, TMPDIR: folder },
    execArgv: [...process.execArgv, '--max-old-space-size=1500'],
    stdio: ['ignore', 'ignore', 'ignore', 'ipc'],
  })
  let running: string | undefined
  let cpuMsEnd = Number.POSITIVE_INFINITY
  let realMsEnd = Number.POSITIVE_INFINITY
  const timer = setInterval(() => {
    if (cpuMsOf(child) > cpuMsEnd || performance.now() > realMsEnd) child.kill('SIGKILL')
  }, lookEveryMs)
  child.on('message', (word: Word) => {
    if (word.word === 'begins') {
      running = word.mutant
      cpuMsEnd = cpuMsOf(child) + word.cpuMsMax
      realMsEnd = performance.now() + realMsMax
    } else if (word.word === 'ended') {
      running = undefined
      cpuMsEnd = realMsEnd = Number.POSITIVE_INFINITY
    }
    onWord(word)
    if (word.word === 'done') child.kill('SIGKILL')
  })
  child.send(order)
  return new Promise((resolve) => {
    child.once('exit', () => {
      clearInterval(timer)
      resolve(running)
    })
  })
}

/** Of its user's and the system's time, as Linux counts it, in hundredths of a second. */
function cpuMsOf({ pid }: ChildProcess): number {
  try {
    const stat = readFileSync(join('/proc', String(pid), 'stat'), 'utf8')
    const fields = stat.slice(stat.lastIndexOf(')') + 2).split(' ')
    return 10 * (Number(fields[11]) + Number(fields[12]))
  } catch {
    return 0
  }
}
