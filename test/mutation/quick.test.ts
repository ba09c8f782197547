import { join } from 'node:path'
import { describe, expect, it } from 'vitest'
import { root } from '../tidy/sources.js'
import type { TriedMutant } from './quick/host.js'
import type { BundleCoverage } from './quick/messages.js'
import { plansOf } from './quick/plans.js'
import { percentNoticed, scoreLines, survivorLines } from './quick/report.js'
import { testFiles } from './quick/testFiles.js'

const mutant = (id: string, file: string, more: Partial<TriedMutant> = {}): TriedMutant => ({
  ...{ id, fileName: join(root, file), mutatorName: 'EqualityOperator', replacement: 'a <= b' },
  location: { start: { line: 0, column: 0 }, end: { line: 0, column: 5 } },
  ...{ status: 'Killed', ...more },
})

describe('test files by patterns', () => {
  it.each([
    ['test/mutation/*.test.ts', ['test/mutation/asked.test.ts', 'test/mutation/quick.test.ts']],
    ['test/muta*/**/q*.test.ts', ['test/mutation/quick.test.ts']],
    ['test/mutation/!(quick).test.ts', ['test/mutation/asked.test.ts']],
    ['test/mutation/!(asked|quic).test.ts', ['test/mutation/quick.test.ts']],
    ['test/mutation/quick', []],
  ])('%s', (pattern, files) => {
    expect(testFiles([pattern])).toEqual(files)
  })
})

describe('which tests a mutant is tried by', () => {
  const bundles = ['a.test.ts', 'turns.test.ts'].map((name) => ({
    test: `test/node/${name}`,
    file: name,
  }))
  const test = (mutants: string[], cpuMs: number, passes = true) => ({ mutants, cpuMs, passes })

  it('those that take it and pass, the quick ones first', () => {
    const coverage: BundleCoverage[] = [
      { atLoad: [], tests: [test(['1', '2'], 30), test(['1'], 10, false)] },
      { atLoad: [], tests: [test(['1'], 20)] },
    ]
    const plans = plansOf(
      [mutant('1', 'x.ts'), mutant('2', 'x.ts'), mutant('3', 'x.ts')],
      bundles,
      coverage,
    )
    expect(plans.get('1')!.map(({ bundle, number }) => [bundle, number])).toEqual([
      [1, 0],
      [0, 0],
    ])
    expect(plans.get('2')).toEqual([{ bundle: 0, number: 0, cpuMs: 30, isAtLoad: false }])
    expect(plans.get('3')).toEqual([])
  })

  it('what loading takes: every test of what loads it, those about the file first, until 20 s are over', () => {
    const coverage: BundleCoverage[] = [
      { atLoad: ['1'], tests: [test([], 15_000), test([], 1_000), test([], 1)] },
      { atLoad: ['1'], tests: [test(['1'], 4_500), test([], 500, false)] },
    ]
    const steps = plansOf([mutant('1', 'src/node/turns.ts')], bundles, coverage).get('1')!
    expect(steps.map(({ bundle, number }) => [bundle, number])).toEqual([
      [1, 0],
      [0, 0],
      [0, 1],
    ])
    expect(steps.every(({ isAtLoad }) => isAtLoad)).toBe(true)
  })
})

describe('the report', () => {
  const file = 'test/mutation/quick.test.ts'
  const mutants = [
    mutant('1', file, { status: 'Survived' }),
    mutant('2', file, { status: 'NoCoverage', mutatorName: 'StringLiteral' }),
    mutant('3', file, { status: 'Timeout' }),
    mutant('4', 'src/x.ts'),
  ]

  it('tells what was not noticed, and where', () => {
    expect(survivorLines(mutants)).toEqual([
      `${file}:1:1 EqualityOperator: impor => a <= b   | import { join } from 'node:path'`,
      `${file}:1:1 StringLiteral: impor => a <= b (no test comes here)   | import { join } from 'node:path'`,
    ])
  })

  it('has a score for each file, the lowest first, and for all; decisions by themselves', () => {
    expect(scoreLines(mutants).map((line) => line.replace(/ +/, ': '))).toEqual([
      `${file}: 1 of 3, 33.3 %; decisions 1 of 2, 50.0 %; 1 do not end`,
      'src/x.ts: 1 of 1, 100.0 %; decisions 1 of 1, 100.0 %',
      'all: 2 of 4, 50.0 %; decisions 2 of 3, 66.7 %; 1 do not end',
    ])
    expect(percentNoticed([])).toBe(100)
  })
})
