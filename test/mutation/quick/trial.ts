// A process that runs collected tests, first as they are, then with one mutant on after the other. Entry; its host is host.ts.
import { readFileSync } from 'node:fs'
import { createRequire } from 'node:module'
import { join } from 'node:path'
import { runInThisContext } from 'node:vm'
import { root } from '../../tidy/sources.js'
import { type CollectedTest, collect, provideVitest, runTest } from './collected.js'
import type { BundleCoverage, Order, Status, TestCoverage, Word } from './messages.js'

/** What instrumented code looks at (StrykerJS). */
interface Switchboard {
  activeMutant?: string | undefined
  currentTestId?: string | undefined
  mutantCoverage?: { static: Record<string, number>; perTest: Record<string, object> } | undefined
  hitCount?: number | undefined
  hitLimit?: number | undefined
}
const board: Switchboard = {}
Object.assign(globalThis, { __stryker__: board })

/** A mutant that is taken so often in one test keeps it from ending. */
const hitsMax = 1e6
/** A test that takes so much longer than without a mutant does not end. */
const cpuMsMax = (cpuMs: number): number => 5_000 + 10 * cpuMs
/** What computes so little between two looks waits; other work on the machine does not count. */
const idleCpuMsMax = 20
const lookEveryMs = 10_000

let fault: unknown
process.on('unhandledRejection', (error) => {
  fault ??= error
})
process.on('uncaughtException', (error) => {
  fault ??= error
})

const tell = (word: Word): void => void process.send?.(word)
const require = createRequire(join(root, 'package.json'))

function loader(file: string): () => readonly CollectedTest[] {
  const text = readFileSync(file, 'utf8')
  const script = runInThisContext(
    `(function (require, module, exports, __filename, __dirname) {${text}\n})`,
    { filename: file },
  ) as (...values: unknown[]) => void
  return () =>
    collect(() => {
      const module = { exports: {} }
      script(require, module, module.exports, file, root)
    })
}

/** @throws what failed, at once or behind its back */
async function run(test: CollectedTest): Promise<void> {
  fault = undefined
  let timer: NodeJS.Timeout | undefined
  const waiting = new Promise((_, fail) => {
    let before = usedMs()
    timer = setInterval(() => {
      const now = usedMs()
      if (now - before < idleCpuMsMax) fail(new Error('it waits for what never comes'))
      before = now
    }, lookEveryMs)
  })
  try {
    await Promise.race([runTest(test), waiting])
  } finally {
    clearInterval(timer)
  }
  if (fault !== undefined) throw fault
}

function usedMs(): number {
  const { user, system } = process.cpuUsage()
  return (user + system) / 1000
}

/** Runs all tests once. */
async function tryAll(loaders: readonly ReturnType<typeof loader>[]): Promise<void> {
  const coverage: BundleCoverage[] = []
  const failed: string[] = []
  for (const load of loaders) {
    board.currentTestId = undefined
    board.mutantCoverage = { static: {}, perTest: {} }
    const { static: atLoad, perTest } = board.mutantCoverage
    const tests: TestCoverage[] = []
    try {
      for (const [number, test] of load().entries()) {
        board.currentTestId = `${number}`
        const before = usedMs()
        let passes = true
        try {
          await run(test)
        } catch {
          passes = false
          failed.push(test.name)
        }
        const mutants = Object.keys(perTest[`${number}`] ?? {})
        tests.push({ passes, mutants, cpuMs: usedMs() - before })
      }
    } catch {
      failed.push('a file that cannot be loaded')
    }
    coverage.push({ atLoad: Object.keys(atLoad), tests })
  }
  board.mutantCoverage = undefined
  board.currentTestId = undefined
  tell({ word: 'tried', coverage, failed })
}

async function tryMutants(
  loaders: readonly ReturnType<typeof loader>[],
  plans: NonNullable<Order['plans']>,
): Promise<void> {
  const loaded = new Map<number, readonly CollectedTest[]>()
  for (const { mutant, steps } of plans) {
    let status: Status = steps.length === 0 ? 'NoCoverage' : 'Survived'
    for (const { bundle, number, cpuMs, isAtLoad } of steps) {
      tell({ word: 'begins', mutant, cpuMsMax: cpuMsMax(cpuMs) })
      if (isAtLoad) loaded.delete(bundle)
      else if (!loaded.has(bundle)) loaded.set(bundle, loaders[bundle]!())
      Object.assign(board, { activeMutant: mutant, hitCount: 0, hitLimit: hitsMax })
      try {
        const tests = loaded.get(bundle) ?? loaders[bundle]!()
        await run(tests[number]!)
      } catch {
        status = 'Killed'
        // It may have left anything behind.
        loaded.delete(bundle)
        break
      } finally {
        board.activeMutant = undefined
      }
    }
    await new Promise((resume) => setImmediate(resume))
    tell({ word: 'ended', mutant, status })
  }
}

process.on('message', async ({ bundles, plans }: Order) => {
  await provideVitest()
  const loaders = bundles.map(loader)
  if (plans === undefined) await tryAll(loaders)
  else await tryMutants(loaders, plans)
  tell({ word: 'done' })
})
