import { createRequire } from 'node:module'
import { Failure } from '../runtime/failure.js'

export type SqlValue = string | number | bigint | Uint8Array | null

/** A statement of `node:sqlite`, as far as it is used here. */
export interface SqliteStatement {
  all(...values: SqlValue[]): unknown[]
  get(...values: SqlValue[]): unknown
  run(...values: SqlValue[]): {
    readonly changes: number | bigint
    readonly lastInsertRowid: number | bigint
  }
  iterate(...values: SqlValue[]): Iterable<unknown>
}

/** A database of `node:sqlite`, as far as it is used here: what Node 22.13 has, and nothing newer. */
export interface SqliteConnection {
  exec(sql: string): void
  prepare(sql: string): SqliteStatement
  close(): void
}

export interface SqliteModule {
  readonly DatabaseSync: new (
    file: string,
    options: { readonly readOnly: boolean },
  ) => SqliteConnection
}

/** Where a module may come from; undefined when it is not there. */
export interface SqliteSources {
  readonly builtIn: () => SqliteModule | undefined
  readonly packaged: () => SqliteModule
}

const sources: SqliteSources = {
  builtIn: () =>
    withoutExperimentalWarning(() => process.getBuiltinModule?.('node:sqlite')) as
      | SqliteModule
      | undefined,
  packaged: () => createRequire(import.meta.url)('@photostructure/sqlite') as SqliteModule,
}

let found: SqliteModule | undefined

/** @throws Failure 'sqlite-missing' */
export function sqliteModule(): SqliteModule {
  found ??= findSqlite(sources)
  return found
}

/**
 * Node's own module where Node has it (22.13 and later), else the package with the same interface that npm brings
 * ready-made for 64-bit machines.
 * @throws Failure 'sqlite-missing'
 */
export function findSqlite({ builtIn, packaged }: SqliteSources): SqliteModule {
  const own = builtIn()
  if (own !== undefined) return own
  try {
    return packaged()
  } catch (cause) {
    throw new Failure({
      code: 'sqlite-missing',
      subject: 'the database module',
      got: `none for ${process.platform} ${process.arch} with Node ${process.versions.node}`,
      expected: 'one that came with npm ci, or the one in Node 22.13 and later',
      advice:
        'use Node 22.13 or later; or install a compiler (build-essential and python3) and run npm ci again',
      cause,
    })
  }
}

/** Node 22 to 24 print once that their module is experimental: nothing that an operator could act on. */
function withoutExperimentalWarning<Value>(load: () => Value): Value {
  const { emitWarning } = process
  process.emitWarning = (...given: unknown[]) => {
    if (given[1] !== 'ExperimentalWarning') Reflect.apply(emitWarning, process, given)
  }
  try {
    return load()
  } finally {
    process.emitWarning = emitWarning
  }
}
