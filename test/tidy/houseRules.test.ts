import { describe, expect, it } from 'vitest'
import { idleExports } from './exports.js'
import { functionLengths, functionLinesMax, longFunctions } from './functions.js'
import { sourceFiles } from './sources.js'

/** Calls that hide time or chance, each with what to use instead. */
const bannedCalls: readonly { readonly call: RegExp; readonly instead: string }[] = [
  { call: /\bDate\.now\(/, instead: 'clock.wallMs()' },
  { call: /\bnew Date\(\)/, instead: 'new Date(clock.wallMs())' },
  { call: /\bperformance\.now\(/, instead: 'clock.monotonicMs()' },
  { call: /\bset(Timeout|Interval)\(/, instead: 'clock.at()' },
  { call: /\bMath\.random\b/, instead: 'the Random that was passed in' },
]

/** Entry points of processes and threads build the real clock; nobody else may touch it. */
const entryPoints = ['src/cli/', 'src/runtime/systemClock.ts']

const lineCountMax = 450

/** Exports that the program itself does not use, each with the reason why it stands there all the same. */
const idleOnPurpose: Readonly<Record<string, string>> = {
  'src/simulation/runSimulation.ts: runSimulation': 'tests and benchmarks run simulations',
  'src/simulation/crashRun.ts: crashRun': 'tests run it, on processes of its own files',
  'src/services/own/testKit.ts: testService': 'whoever writes a service imports it by package.json',
  'dsp/framing/fcs.ts: fcsIsRight': 'the standard names this check; tests hold ours to it',
  'dsp/framing/nrzi.ts: decodeNrzi': 'the inverse by which tests read what is sent',
}

describe('house rules', () => {
  const files = sourceFiles('src', 'dsp')

  it('time and chance are passed in', () => {
    const found = files
      .filter((file) => !entryPoints.some((entry) => file.path.startsWith(entry)))
      .flatMap((file) =>
        file.text
          .split('\n')
          .flatMap((line, index) =>
            bannedCalls
              .filter(({ call }) => call.test(line) && !/^\s*(\*|\/\/)/.test(line))
              .map(({ instead }) => `${file.path}:${index + 1}: use ${instead}: ${line.trim()}`),
          ),
      )
    expect(found).toEqual([])
  })

  it('whatever was thrown becomes text in one way', () => {
    const found = files
      .filter(({ path }) => path !== 'src/runtime/errorText.ts')
      .filter(({ text }) => /instanceof Error\b\s*\?\s*\(?\w+\.message\b/.test(text))
      .map(({ path }) => `${path}: use errorText(error)`)
    expect(found).toEqual([])
  })

  it('no file has grown past what one idea needs', () => {
    const long = [...files, ...sourceFiles('test')]
      .map((file) => `${file.path}: ${file.text.split('\n').length}`)
      .filter((line) => Number(line.split(': ')[1]) > lineCountMax)
    expect(long).toEqual([])
  })

  it('no function is longer than a screen or two, but for those that are named, and these do not grow', () => {
    const long = files.flatMap(functionLengths).filter(({ lines }) => lines > functionLinesMax)
    const grown = long.filter(({ name, lines }) => lines > (longFunctions[name] ?? 0))
    expect(grown).toEqual([])
    const names = long.map(({ name }) => name)
    expect(Object.keys(longFunctions).filter((name) => !names.includes(name))).toEqual([])
  })

  it('what is exported has a user in the program', () => {
    const idle = idleExports(files, sourceFiles('test'))
    expect(idle.filter(({ name }) => !(name in idleOnPurpose))).toEqual([])
    // and no exception outlives its reason
    const names = idle.map(({ name }) => name)
    expect(Object.keys(idleOnPurpose).filter((name) => !names.includes(name))).toEqual([])
  })

  it('an export without a user is found, in whatever way it is missing one', () => {
    const program = [
      {
        path: 'src/a/a.ts',
        text: `
          export const used = 1, passedOn = 2
          export const dead = 3
          export const tested = 4
          export interface Inside { readonly of: Own }
          export type Own = string
          export type Dead = number
          export function own(): Own { return inner() }
          export function inner(): string { return '' }`,
      },
      {
        path: 'src/b.ts',
        text: `import { used as here } from './a/a.js'
          import type { Inside } from './a/a.js'
          export { passedOn } from './a/a.js'
          const load = () => import('./c.js')`,
      },
      { path: 'src/c.ts', text: 'export const own = 1' },
    ]
    const tests = [{ path: 'test/a.test.ts', text: "import { tested, own } from '../src/a/a.js'" }]
    expect(idleExports(program, tests)).toEqual([
      { name: 'src/a/a.ts: dead', why: 'nothing uses it' },
      { name: 'src/a/a.ts: tested', why: 'only tests use it' },
      { name: 'src/a/a.ts: Dead', why: 'nothing uses it' },
      { name: 'src/a/a.ts: own', why: 'only tests use it' },
      { name: 'src/a/a.ts: inner', why: 'only its own file uses it: it needs no export' },
    ])
  })

  it('nothing is left half done', () => {
    const marks = /\b(TODO|FIXME|XXX)\b|not implemented|\b(it|describe|test)\.(only|skip|todo)\(/
    const found = [...files, ...sourceFiles('test')]
      .filter((file) => !file.path.startsWith('test/tidy/'))
      .filter((file) => marks.test(file.text))
      .map((file) => file.path)
    expect(found).toEqual([])
  })
})
