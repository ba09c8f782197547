import { describe, expect, it } from 'vitest'
import { asked, usage } from './asked.js'
import { folders, groups } from './groups.js'

const test = 'test/mutation/asked.test.ts'
const file = 'test/mutation/asked.ts'

describe('what npm run mutate is asked for', () => {
  it.each([['--help'], ['limits --help'], ['all src/store --help']])(
    '%s prints how it is used',
    (words) => {
      expect(asked(words.split(' '))).toEqual({ kind: 'usage' })
      expect(usage).toContain('limits [FILE...]')
    },
  )

  it.each([
    ['--helpp', /^Unknown option '--helpp'/],
    ['all --share', /--share/],
    ['nothing', /^got nothing, expected limits, sample, all, file, attention, /],
    ['outbox nothing', /^got nothing, /],
    ['all src/nothing', /^got src\/nothing, expected dsp\/modem, /],
    ['sample src/nothing', /^got src\/nothing, expected dsp\/modem, /],
    ['sample src/store --share 0.0000001', /^--share: got 1e-7, of which no place came/],
    ['sample --share 0', /^--share: got 0$/],
    ['all --share 1.1', /^--share: got 1.1$/],
    ['sample --seed x', /^--seed: got x$/],
    [`file ${file} --tests ${test} --jobs 0`, /^--jobs: got 0$/],
    [`file ${file} --tests ${test} --jobs 1.5`, /^--jobs: got 1.5$/],
    [`file ${file}`, /^file: expected files, and --tests FILE/],
    [`file --tests ${test}`, /^file: expected files, and --tests FILE/],
    [`file src/no.ts:1-2 --tests ${test}`, /^file: got src\/no.ts:1-2, expected a path/],
    [`file ${file} --tests test/no.test.ts`, /^--tests: got test\/no.test.ts, which is no test/],
  ])('%s is refused', (words, problem) => {
    expect(asked(words.split(' '))).toEqual({
      ...{ kind: 'wrong', problem: expect.stringMatching(problem) },
    })
  })

  it('limits go on to those who move them', () => {
    expect(asked(['limits', 'src/store'])).toEqual({ kind: 'limits', files: ['src/store'] })
  })

  it('groups are all, or those that are named, each mutant in a run of its own', () => {
    const plain = { kind: 'groups', isQuick: false, jobs: 1 }
    expect(asked([])).toEqual({ ...plain, groups: Object.entries(groups) })
    expect(asked(['outbox'])).toEqual({ ...plain, groups: [['outbox', groups.outbox]] })
  })

  it('files are tried by their tests, in so many processes', () => {
    expect(
      asked(['file', file, `${file}:1-9`, '--tests', test, '--tests', 'b', '--jobs', '2']),
    ).toEqual({
      ...{ kind: 'groups', isQuick: true, jobs: 2 },
      groups: [[`${file} ${file}:1-9`, { files: [file, `${file}:1-9`], tests: [test, 'b'] }]],
    })
  })

  it('folders are tried whole, or a share of them, the same for the same seed', () => {
    const filesOf = (...words: string[]): string[] => {
      const all = asked(words)
      if (all.kind !== 'groups') throw new Error(JSON.stringify(all))
      expect(all.groups.map(([, { tests }]) => tests)).toEqual([folders['src/exposure']])
      return all.groups.flatMap(([, { files }]) => files)
    }
    const whole = filesOf('all', 'src/exposure')
    expect(whole).toContain('src/exposure/limitSets.ts')
    const half = filesOf('all', 'src/exposure', '--share', '0.5')
    expect(half[0]).toMatch(/^src\/exposure\/\w+\.ts:\d+-\d+$/)
    expect(filesOf('sample', 'src/exposure', '--share', '0.5')).toEqual(half)
    expect(filesOf('sample', 'src/exposure', '--share', '0.5', '--seed', '2')).not.toEqual(half)
    const few = filesOf('sample', 'src/exposure', '--share', '0.25').length
    expect(few).toBeLessThan(half.length)
    expect(asked(['sample', 'src/exposure', '--seed', '4'])).toMatchObject({ kind: 'groups' })
    expect(asked(['all'])).toMatchObject({
      groups: Object.keys(folders).map((name) => [name, { tests: folders[name] }]),
    })
  })
})
