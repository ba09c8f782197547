// Changes the files that must hold, one place after the other, and looks whether a test fails: `npm run mutate [-- GROUP …]`.
// Prints what survived and the score of each group, and ends with status 1 where one is below the score that is set.
// `npm run mutate -- limits [FILE …]` moves limits by one instead. By hand, and at night: a group has some hundreds of places.
import { spawnSync } from 'node:child_process'
import { existsSync, mkdtempSync, readFileSync, rmSync, writeFileSync } from 'node:fs'
import { tmpdir } from 'node:os'
import { join } from 'node:path'
import { root } from '../tidy/sources.js'

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
  const settings = {
    testRunner: 'vitest',
    plugins: ['@stryker-mutator/vitest-runner'],
    vitest: { configFile: 'test/mutation/vitest.config.ts', related: false },
    mutate: files,
    coverageAnalysis: 'perTest',
    concurrency: 1,
    reporters: ['clear-text'],
    clearTextReporter: { allowColor: false, logTests: false, reportTests: false },
    tempDirName: join(folder, 'sandbox'),
    ignorePatterns: ['samples/recordings', 'dist', 'demo-output'],
    timeoutMS: 20_000,
    thresholds: { high: 100, low: scoreMin, break: scoreMin },
  }
  writeFileSync(file, JSON.stringify(settings))
  return run('npx', ['stryker', 'run', file], { MUTATION_TESTS: tests.join(' ') }) === 0
}

const [first, ...rest] = process.argv.slice(2)
if (first === 'limits') process.exit(run('npx', ['tsx', 'test/mutation/limits.ts', ...rest]))
const names = first === undefined ? Object.keys(groups) : [first, ...rest]
ready()
const folder = mkdtempSync(join(tmpdir(), 'ridgepost-mutate-'))
const low = names.filter((name) => {
  const group = groups[name]
  if (group === undefined)
    throw new Error(`got ${name}, expected limits, ${Object.keys(groups).join(', ')}`)
  console.log(`\n== ${name}`)
  return !mutate(group, folder)
})
rmSync(folder, { recursive: true, force: true })
console.log(
  low.length === 0 ? `all at ${scoreMin} % or more` : `below ${scoreMin} %: ${low.join(', ')}`,
)
process.exitCode = low.length === 0 ? 0 : 1
