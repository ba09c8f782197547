import { existsSync } from 'node:fs'
import { join } from 'node:path'
import { parseArgs } from 'node:util'
import { type Random, seededRandom } from '../../src/runtime/random.js'
import { root, sourceFiles } from '../tidy/sources.js'
import { folders, type Group, groups } from './groups.js'
import { testFiles } from './quick/testFiles.js'

/** What the words of a command ask for. */
export type Asked =
  | { readonly kind: 'usage' }
  | { readonly kind: 'wrong'; readonly problem: string }
  | { readonly kind: 'limits'; readonly files: readonly string[] }
  | {
      readonly kind: 'groups'
      /** thousands of mutants in a process */
      readonly isQuick: boolean
      readonly jobs: number
      readonly groups: readonly (readonly [name: string, group: Group])[]
    }

export const usage = `npm run mutate -- [WHAT...] [options]

  GROUP...               ${Object.keys(groups).join(', ')}; all of them where none is named
  file FILE...           all places of these files, by the tests of --tests, in one process
  all [FOLDER...]        all places of whole folders, in one process; with --share some
  sample [FOLDER...]     some places of whole folders
  limits [FILE...]       moves limits by one

  folders: ${Object.keys(folders).join(', ')}

  --tests FILE           file: a test file or a pattern of them; may be given more than once
  --share N              all, sample: of all places this share, above 0 to 1 (sample: 0.03)
  --seed N               of the places that are taken (1)
  --jobs N               file, all: in so many processes (1)
  --help
`

class Wrong extends Error {}

const options = {
  share: { type: 'string' },
  seed: { type: 'string', default: '1' },
  tests: { type: 'string', multiple: true, default: [] as string[] },
  jobs: { type: 'string', default: '1' },
  help: { type: 'boolean', default: false },
} as const

export function asked(words: readonly string[]): Asked {
  try {
    const { values, positionals } = parseArgs({ allowPositionals: true, options, args: [...words] })
    const [first, ...rest] = positionals
    if (values.help) return { kind: 'usage' }
    if (first === 'limits') return { kind: 'limits', files: rest }
    const isQuick = first === 'all' || first === 'file'
    const jobs = numberIn('jobs', values.jobs, (value) => Number.isInteger(value) && value >= 1)
    return { kind: 'groups', isQuick, jobs, groups: wanted(first, rest, values) }
  } catch (error) {
    if (error instanceof Wrong || isOfOptions(error))
      return { kind: 'wrong', problem: error.message }
    throw error
  }
}

const isOfOptions = (error: unknown): error is Error =>
  error instanceof Error && 'code' in error && String(error.code).startsWith('ERR_PARSE_ARGS')

function numberIn(name: string, text: string, isFit: (value: number) => boolean): number {
  const value = Number(text)
  if (text.trim() === '' || !isFit(value)) throw new Wrong(`--${name}: got ${text}`)
  return value
}

interface Values {
  readonly share?: string | undefined
  readonly seed: string
  readonly tests: readonly string[]
}

/** By name. */
function wanted(
  first: string | undefined,
  rest: readonly string[],
  { share, seed, tests }: Values,
): (readonly [name: string, group: Group])[] {
  const random = seededRandom(numberIn('seed', seed, Number.isSafeInteger))
  const shareOf = (text: string): number =>
    numberIn('share', text, (value) => value > 0 && value <= 1)
  const names = rest.length > 0 ? rest : Object.keys(folders)
  if (first === 'file') return [[rest.join(' '), ofFiles(rest, tests)]]
  if (first === 'sample')
    return names.map((name) => [name, sampleOf(name, shareOf(share ?? '0.03'), random)])
  if (first === 'all')
    return names.map((name) => [
      name,
      share === undefined ? wholeOf(name) : sampleOf(name, shareOf(share), random),
    ])
  return (first === undefined ? Object.keys(groups) : [first, ...rest]).map((name) => {
    const group = groups[name]
    if (group === undefined)
      throw new Wrong(
        `got ${name}, expected limits, sample, all, file, ${Object.keys(groups).join(', ')}`,
      )
    return [name, group]
  })
}

function ofFiles(files: readonly string[], tests: readonly string[]): Group {
  if (files.length === 0 || tests.length === 0)
    throw new Wrong('file: expected files, and --tests FILE for each test file')
  const absent = files.find((file) => !existsSync(join(root, file.split(':')[0]!)))
  if (absent !== undefined) throw new Wrong(`file: got ${absent}, expected a path from the root`)
  if (testFiles(tests).length === 0)
    throw new Wrong(`--tests: got ${tests.join(', ')}, which is no test file`)
  return { files, tests }
}

function testsOf(folder: string): readonly string[] {
  const tests = folders[folder]
  if (tests === undefined)
    throw new Wrong(`got ${folder}, expected ${Object.keys(folders).join(', ')}`)
  return tests
}

const wholeOf = (folder: string): Group => {
  const tests = testsOf(folder)
  return { tests, files: sourceFiles(folder).map(({ path }) => path) }
}

/** Lines that are taken or left together: most functions' branches and statements are shorter. */
const linesTogether = 8

/** Stretches of lines of all files of a folder, each taken with the same chance. */
function sampleOf(folder: string, share: number, random: Random): Group {
  const tests = testsOf(folder)
  const files = sourceFiles(folder).flatMap(({ path, text }) => {
    const lineCount = text.split('\n').length
    const stretches: string[] = []
    for (let line = 1; line <= lineCount; line += linesTogether)
      if (random() < share) stretches.push(`${path}:${line}-${line + linesTogether - 1}`)
    return stretches
  })
  // Without any the tool would take all there are.
  if (files.length === 0)
    throw new Wrong(`--share: got ${share}, of which no place came; expected more of 1`)
  return { files, tests }
}
