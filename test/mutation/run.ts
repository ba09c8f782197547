// Changes the files that must hold, one place after the other, and looks whether a test fails: `npm run mutate [-- GROUP …]`.
// Prints what survived and the score of each group, and ends with status 1 where one is below the score that is set.
// `npm run mutate -- sample [FOLDER …]` takes some of the places of whole folders, by --share (0.03) and --seed (1).
// `npm run mutate -- all FOLDER …` takes all places of whole folders (with --share some), `-- file FILE … --tests FILE` those of files
// by the tests that are named, for who writes tests: thousands in one process (quick/), with --jobs processes side by side (1).
// `npm run mutate -- limits [FILE …]` moves limits by one instead. By hand, and at night: a group has some hundreds of places.
import { spawnSync } from 'node:child_process'
import { existsSync, mkdtempSync, readFileSync, rmSync, writeFileSync } from 'node:fs'
import { tmpdir } from 'node:os'
import { join } from 'node:path'
import { root } from '../tidy/sources.js'
import { asked, usage } from './asked.js'
import type { Group } from './groups.js'
import { tryMutants } from './quick/host.js'
import { percentNoticed, scoreLines, survivorLines } from './quick/report.js'
import { testFiles } from './quick/testFiles.js'

/**
 * Not among the devDependencies: 64 MB and 160 packages that nobody needs who only tests. The last version that runs on Node 20.
 */
const version = '9.6.1'
const packages = ['core', 'vitest-runner'].map((name) => `@stryker-mutator/${name}@${version}`)

const scoreMin = 85

function ready(): void {
  const manifest = join(root, 'node_modules/@stryker-mutator/core/package.json')
  if (existsSync(manifest) && JSON.parse(readFileSync(manifest, 'utf8')).version === version) return
  run('npm', ['install', '--no-save', '--no-audit', '--no-fund', '--ignore-scripts', ...packages])
}

function run(program: string, words: readonly string[], env: NodeJS.ProcessEnv = {}): number {
  const options = { cwd: root, stdio: 'inherit', env: { ...process.env, ...env } } as const
  return spawnSync(program, words, options).status ?? 1
}

/** @returns whether the score is high enough */
function mutate({ files, tests }: Group, folder: string): boolean {
  const file = join(folder, 'stryker.json')
  const report = join(folder, 'report.json')
  const settings = {
    testRunner: 'vitest',
    plugins: ['@stryker-mutator/vitest-runner'],
    vitest: { configFile: 'test/mutation/vitest.config.ts', related: false },
    mutate: files,
    coverageAnalysis: 'perTest',
    concurrency: 1,
    reporters: ['clear-text', 'json'],
    clearTextReporter: { allowColor: false, logTests: false, reportTests: false },
    jsonReporter: { fileName: report },
    tempDirName: join(folder, 'sandbox'),
    ignorePatterns: ['samples/recordings', 'dist', 'demo-output'],
    timeoutMS: 20_000,
    thresholds: { high: 100, low: scoreMin, break: scoreMin },
  }
  writeFileSync(file, JSON.stringify(settings))
  const isEnough = run('npx', ['stryker', 'run', file], { MUTATION_TESTS: tests.join(' ') }) === 0
  if (existsSync(report)) console.log(scoreIn(JSON.parse(readFileSync(report, 'utf8'))))
  return isEnough
}

/** What is read of a report: the open format of mutation testing reports (mutation-testing-elements, version 2). */
interface Report {
  readonly files: Readonly<
    Record<string, { readonly mutants: readonly { readonly status: string }[] }>
  >
}

const noticed = ['Killed', 'Timeout']
const unnoticed = ['Survived', 'NoCoverage']

/** The score with the interval that holds the whole folder's with 95 %, were the places taken one by one. */
function scoreIn({ files }: Report): string {
  const all = Object.values(files).flatMap(({ mutants }) => mutants.map(({ status }) => status))
  const found = all.filter((status) => noticed.includes(status)).length
  const count = found + all.filter((status) => unnoticed.includes(status)).length
  if (count === 0) return 'no place was changed'
  const { low, high } = wilsonInterval(found, count)
  const percent = (share: number): string => (100 * share).toFixed(1)
  return `${found} of ${count} noticed: ${percent(found / count)} %, 95 % from ${percent(low)} to ${percent(high)}`
}

/** @see E. B. Wilson, Probable inference, 1927; NIST/SEMATECH e-Handbook of Statistical Methods 7.2.4.1 (from memory) */
function wilsonInterval(found: number, count: number): { low: number; high: number } {
  const z = 1.96
  const share = found / count
  const middle = share + z ** 2 / (2 * count)
  const half = z * Math.sqrt((share * (1 - share)) / count + z ** 2 / (4 * count ** 2))
  const scale = 1 + z ** 2 / count
  return { low: (middle - half) / scale, high: (middle + half) / scale }
}

/** Every mutant in one process, or some. @returns whether the score is high enough */
async function mutateQuickly(
  { files, tests }: Group,
  folder: string,
  jobs: number,
): Promise<boolean> {
  const { mutants, leftOut } = await tryMutants(files, testFiles(tests), folder, jobs, (...at) =>
    console.error(`${at[0]} of ${at[1]} tried, ${at[2]} of them not noticed`),
  )
  for (const line of survivorLines(mutants)) console.log(line)
  if (leftOut.length > 0) console.log(`\nnot run here: ${leftOut.join('; ')}`)
  console.log(`\n${scoreLines(mutants).join('\n')}`)
  return percentNoticed(mutants) >= scoreMin
}

/** @returns the exit status */
async function main(): Promise<number> {
  const what = asked(process.argv.slice(2))
  if (what.kind === 'usage') {
    console.log(usage)
    return 0
  }
  if (what.kind === 'wrong') {
    console.error(`mutate: ${what.problem}\n\n${usage}`)
    return 2
  }
  if (what.kind === 'limits') return run('npx', ['tsx', 'test/mutation/limits.ts', ...what.files])
  ready()
  const folder = mkdtempSync(join(tmpdir(), 'ridgepost-mutate-'))
  const low: string[] = []
  for (const [name, group] of what.groups) {
    console.log(`\n== ${name}`)
    const isEnough = what.isQuick
      ? await mutateQuickly(group, folder, what.jobs)
      : mutate(group, folder)
    if (!isEnough) low.push(name)
  }
  rmSync(folder, { recursive: true, force: true })
  console.log(
    low.length === 0 ? `all at ${scoreMin} % or more` : `below ${scoreMin} %: ${low.join(', ')}`,
  )
  return low.length === 0 ? 0 : 1
}

process.exitCode = await main()
