import { describe, expect, it } from 'vitest'
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

  it('no file has grown past what one idea needs', () => {
    const long = [...files, ...sourceFiles('test')]
      .map((file) => `${file.path}: ${file.text.split('\n').length}`)
      .filter((line) => Number(line.split(': ')[1]) > lineCountMax)
    expect(long).toEqual([])
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
