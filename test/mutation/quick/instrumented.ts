import { readFileSync } from 'node:fs'
import { createRequire } from 'node:module'
import { dirname, join } from 'node:path'
import { pathToFileURL } from 'node:url'
import { root } from '../../tidy/sources.js'

/** One change of one place. */
export interface Mutant {
  readonly id: string
  readonly fileName: string
  readonly mutatorName: string
  readonly replacement: string
  /** lines and columns count from 0 */
  readonly location: { readonly start: Place; readonly end: Place }
}

interface Place {
  readonly line: number
  readonly column: number
}

export interface Instrumented {
  readonly mutants: readonly Mutant[]
  /** by absolute path: the file with all its mutants in it, of which one at a time is on */
  readonly texts: ReadonlyMap<string, string>
}

/** What is used of @stryker-mutator/instrumenter, which is no dependency: it is fetched when it is wanted (run.ts). */
interface Instrumenter {
  instrument(
    files: readonly { readonly name: string; readonly mutate: unknown; readonly content: string }[],
    options: unknown,
  ): Promise<{ readonly files: readonly { name: string; content: string }[]; mutants: Mutant[] }>
}

/** @param places paths from the root, each with its lines or whole: 'src/node/turns.ts', 'src/node/turns.ts:9-16' */
export async function instrumented(places: readonly string[]): Promise<Instrumented> {
  const ranges = new Map<string, unknown[]>()
  for (const place of places) {
    const [path = '', lines] = place.split(':')
    const [from, to] = lines?.split('-').map(Number) ?? []
    const range =
      from === undefined
        ? undefined
        : { start: { line: from - 1, column: 0 }, end: { line: (to ?? from) - 1, column: 9999 } }
    const all = ranges.get(path) ?? []
    ranges.set(path, range === undefined ? all : [...all, range])
  }
  const files = [...ranges].map(([path, some]) => ({
    name: join(root, path),
    mutate: some.length === 0 ? true : some,
    content: readFileSync(join(root, path), 'utf8'),
  }))
  const instrumenter = await loadInstrumenter()
  const options = { plugins: null, ignorers: [], excludedMutations: [], noHeader: false }
  const { files: done, mutants } = await instrumenter.instrument(files, options)
  return { mutants, texts: new Map(done.map(({ name, content }) => [name, content])) }
}

async function loadInstrumenter(): Promise<Instrumenter> {
  const core = createRequire(join(root, 'package.json')).resolve('@stryker-mutator/core')
  const main = createRequire(core).resolve('@stryker-mutator/instrumenter')
  const file = pathToFileURL(join(dirname(main), 'instrumenter.js')).href
  const { Instrumenter } = (await import(file)) as {
    Instrumenter: new (log: unknown) => Instrumenter
  }
  const silent = Object.fromEntries(
    ['debug', 'info', 'warn', 'trace'].map((level) => [level, () => {}]),
  )
  const log = { ...silent, error: console.error, fatal: console.error, isDebugEnabled: () => false }
  return new Instrumenter({ ...log, isTraceEnabled: () => false })
}
