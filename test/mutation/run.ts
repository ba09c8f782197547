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
import { parseArgs } from 'node:util'
import { type Random, seededRandom } from '../../src/runtime/random.js'
import { root, sourceFiles } from '../tidy/sources.js'
import { tryMutants } from './quick/host.js'
import { percentNoticed, scoreLines, survivorLines } from './quick/report.js'
import { testFiles } from './quick/testFiles.js'

/**
 * Not among the devDependencies: 64 MB and 160 packages that nobody needs who only tests. The last version that runs on Node 20.
 */
const version = '9.6.1'
const packages = ['core', 'vitest-runner'].map((name) => `@stryker-mutator/${name}@${version}`)

const scoreMin = 85

interface Group {
  readonly files: readonly string[]
  /** those that are quick: each runs for every change that it reaches */
  readonly tests: readonly string[]
}

const groups: Readonly<Record<string, Group>> = {
  attention: {
    files: ['src/node/attention.ts', 'src/node/copies.ts', 'src/node/rateLimit.ts'],
    tests: [
      ...['test/limits/node.test.ts', 'test/node/conversation.test.ts', 'test/node/parts.test.ts'],
      ...['test/node/queries.test.ts', 'test/node/emergencies.test.ts'],
    ],
  },
  outbox: {
    files: ['src/node/outbox.ts', 'src/node/turns.ts', 'src/node/retry.ts'],
    tests: [
      ...['test/limits/node.test.ts', 'test/node/conversation.test.ts', 'test/node/mail.test.ts'],
      ...['test/node/turns.test.ts', 'test/node/parts.test.ts'],
    ],
  },
  mail: {
    files: [
      ...['src/node/mailRules.ts', 'src/node/mailLeaving.ts', 'src/node/mailHandingOver.ts'],
      ...['src/node/mailEnding.ts', 'src/node/expiry.ts'],
    ],
    tests: [
      ...['test/limits/node.test.ts', 'test/node/mail.test.ts', 'test/node/mailExpiry.test.ts'],
      'test/node/clockJumps.test.ts',
    ],
  },
  controller: {
    files: ['src/radio/transmitController.ts', 'src/radio/runningTransmission.ts'],
    tests: [
      ...['test/limits/radio.test.ts', 'test/radio/transmitController.test.ts'],
      ...['test/radio/hang.test.ts', 'test/radio/airtime.test.ts'],
    ],
  },
  duty: {
    files: [
      ...['src/radio/dutyLedger.ts', 'src/radio/identification.ts', 'src/radio/persistence.ts'],
      'src/radio/transmitQueue.ts',
    ],
    tests: [
      ...['test/limits/radio.test.ts', 'test/radio/transmitController.test.ts'],
      ...['test/published/channelAccess.test.ts', 'test/published/identification.test.ts'],
    ],
  },
  retention: {
    files: ['src/store/retention.ts'],
    tests: ['test/limits/store.test.ts', 'test/store/retention.test.ts'],
  },
  exposure: {
    files: ['src/exposure/*.ts'],
    tests: ['test/exposure/*.test.ts', 'test/published/exposure.test.ts'],
  },
  frames: {
    files: ['dsp/framing/*.ts', 'dsp/modem/frameMerger.ts'],
    tests: [
      ...['test/limits/codecs.test.ts', 'test/dsp/framing/*.test.ts'],
      ...['test/dsp/modem/frameMerger.test.ts', 'test/published/fcs.test.ts'],
    ],
  },
}

/** Whole folders have some ten thousand places, of which a sample is tried, by all tests that are about them and take no real time. */
const folders: Readonly<Record<string, readonly string[]>> = {
  'dsp/modem': [
    ...['test/dsp/modem/**/*.test.ts', 'test/dsp/framing/*.test.ts', 'test/limits/codecs.test.ts'],
  ],
  'src/radio': [
    ...['test/radio/!(liveRadio).test.ts', 'test/limits/radio.test.ts', 'test/property/*.test.ts'],
    ...['test/published/channelAccess.test.ts', 'test/published/identification.test.ts'],
  ],
  'src/node': [
    ...['test/node/**/*.test.ts', 'test/limits/node.test.ts', 'test/limits/connected.test.ts'],
    ...['test/limits/services.test.ts', 'test/published/digipeating.test.ts'],
    'test/links/*.test.ts',
  ],
  'src/store': [
    ...['test/store/*.test.ts', 'test/limits/store.test.ts', 'test/cli/log.test.ts'],
    ...['test/node/mail.test.ts', 'test/node/badRows.test.ts', 'test/node/conversation.test.ts'],
  ],
  'src/exposure': ['test/exposure/*.test.ts', 'test/published/exposure.test.ts'],
}

function testsOf(folder: string): readonly string[] {
  const tests = folders[folder]
  if (tests === undefined)
    throw new Error(`got ${folder}, expected ${Object.keys(folders).join(', ')}`)
  return tests
}

/** Lines that are taken or left together: most functions' branches and statements are shorter. */
const linesTogether = 8

/** Stretches of lines of all files of a folder, each taken with the same chance. */
function sampleOf(folder: string, share: number, random: Random): string[] {
  return sourceFiles(folder).flatMap(({ path, text }) => {
    const lineCount = text.split('\n').length
    const stretches: string[] = []
    for (let line = 1; line <= lineCount; line += linesTogether)
      if (random() < share) stretches.push(`${path}:${line}-${line + linesTogether - 1}`)
    return stretches
  })
}

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

const { values, positionals } = parseArgs({
  allowPositionals: true,
  options: {
    share: { type: 'string' },
    seed: { type: 'string', default: '1' },
    tests: { type: 'string', multiple: true, default: [] },
    jobs: { type: 'string', default: '1' },
  },
})
const [first, ...rest] = positionals
if (first === 'limits') process.exit(run('npx', ['tsx', 'test/mutation/limits.ts', ...rest]))

/** What is asked for, by name. */
function wanted(): [name: string, group: Group][] {
  if (first === 'sample') {
    const random = seededRandom(Number(values.seed))
    const names = rest.length > 0 ? rest : Object.keys(folders)
    return names.map((name) => {
      const tests = testsOf(name)
      const files = sampleOf(name, Number(values.share ?? 0.03), random)
      // Without any the tool would take all there are.
      if (files.length === 0)
        throw new Error(`--share: got ${values.share}, of which no place came; expected more of 1`)
      return [name, { files, tests }]
    })
  }
  if (first === 'file') {
    if (rest.length === 0 || values.tests.length === 0)
      throw new Error('file: expected files, and --tests FILE for each test file')
    return [[rest.join(' '), { files: rest, tests: values.tests }]]
  }
  if (first === 'all') {
    const names = rest.length > 0 ? rest : Object.keys(folders)
    const random = seededRandom(Number(values.seed))
    return names.map((name) => {
      const files =
        values.share === undefined
          ? sourceFiles(name).map(({ path }) => path)
          : sampleOf(name, Number(values.share), random)
      return [name, { files, tests: testsOf(name) }]
    })
  }
  const names = first === undefined ? Object.keys(groups) : [first, ...rest]
  return names.map((name) => {
    const group = groups[name]
    if (group === undefined)
      throw new Error(
        `got ${name}, expected limits, sample, all, file, ${Object.keys(groups).join(', ')}`,
      )
    return [name, group]
  })
}

/** Every mutant in one process, or some. @returns whether the score is high enough */
async function mutateQuickly({ files, tests }: Group, folder: string): Promise<boolean> {
  const all = testFiles(tests)
  if (all.length === 0) throw new Error(`--tests: got ${tests.join(', ')}, which is no test file`)
  const { mutants, leftOut } = await tryMutants(files, all, folder, Number(values.jobs), (...at) =>
    console.error(`${at[0]} of ${at[1]} tried, ${at[2]} of them not noticed`),
  )
  for (const line of survivorLines(mutants)) console.log(line)
  if (leftOut.length > 0) console.log(`\nnot run here: ${leftOut.join('; ')}`)
  console.log(`\n${scoreLines(mutants).join('\n')}`)
  return percentNoticed(mutants) >= scoreMin
}

ready()
const folder = mkdtempSync(join(tmpdir(), 'ridgepost-mutate-'))
const low: string[] = []
for (const [name, group] of wanted()) {
  console.log(`\n== ${name}`)
  const isQuick = first === 'all' || first === 'file'
  const isEnough = isQuick ? await mutateQuickly(group, folder) : mutate(group, folder)
  if (!isEnough) low.push(name)
}
rmSync(folder, { recursive: true, force: true })
console.log(
  low.length === 0 ? `all at ${scoreMin} % or more` : `below ${scoreMin} %: ${low.join(', ')}`,
)
process.exitCode = low.length === 0 ? 0 : 1
