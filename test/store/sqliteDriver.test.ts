import { spawnSync } from 'node:child_process'
import { writeFileSync } from 'node:fs'
import { resolve } from 'node:path'
import { describe, expect, it } from 'vitest'
import { databaseFaultKind } from '../../src/store/databaseFault.js'
import { openSqlite } from '../../src/store/sqliteDriver.js'
import { findSqlite, type SqliteModule } from '../../src/store/sqliteModule.js'
import { collect } from './collect.js'
import { temporaryFile } from './openTestStore.js'

const moduleNamed = (name: string): SqliteModule => ({ name }) as unknown as SqliteModule
const missing = (): never => {
  throw new Error('Cannot find module')
}

describe('the database module', () => {
  it("is Node's own where there is one, and then no package is loaded", () => {
    expect(findSqlite({ builtIn: () => moduleNamed('own'), packaged: missing })).toEqual({
      name: 'own',
    })
  })

  it('is the package where Node has none', () => {
    const packaged = () => moduleNamed('packaged')
    expect(findSqlite({ builtIn: () => undefined, packaged })).toEqual({ name: 'packaged' })
  })

  it('when there is neither, a sentence says what to do', () => {
    expect(() => findSqlite({ builtIn: () => undefined, packaged: missing })).toThrow(
      /the database module: got none for \w+ \w+ with Node [\d.]+.*Node 22\.13 or later; or install a compiler/,
    )
  })

  it('prints nothing of its own', () => {
    const entry = resolve(import.meta.dirname, '../../src/store/sqliteDriver.ts')
    const script = `import { openSqlite } from ${JSON.stringify(entry)}; openSqlite(':memory:').exec('SELECT 1'); console.log('opened')`
    const { stdout, stderr } = spawnSync(
      process.execPath,
      ['--import', 'tsx', '--input-type=module', '-e', script],
      { encoding: 'utf8' },
    )
    expect({ stdout, stderr }).toEqual({ stdout: 'opened\n', stderr: '' })
  })
})

describe('the driver', () => {
  it('keeps every kind of value', () => {
    const sqlite = openSqlite(':memory:')
    sqlite.exec('CREATE TABLE t (id INTEGER PRIMARY KEY, number INTEGER, text TEXT, octets BLOB)')
    const text = 'sauna \u{1f9d6} \u0001 Ä'
    const octets = Uint8Array.of(0, 255, 0)
    expect(sqlite.run('INSERT INTO t VALUES (?, ?, ?, ?)', 7, 2 ** 53 - 1, text, octets)).toEqual({
      changes: 1,
      lastId: 7,
    })
    sqlite.run('INSERT INTO t VALUES (NULL, NULL, NULL, NULL)')
    expect(sqlite.all('SELECT * FROM t ORDER BY id')).toEqual([
      { id: 7, number: 2 ** 53 - 1, text, octets },
      { id: 8, number: null, text: null, octets: null },
    ])
    expect(sqlite.get('SELECT typeof(number) AS type FROM t')).toEqual({ type: 'integer' })
    expect(sqlite.get('SELECT 1 FROM t WHERE id = 9')).toBeUndefined()
    expect(sqlite.pragma('user_version')).toBe(0)
  })

  it('loses nothing behind a NUL, and finds such a text again', () => {
    const sqlite = openSqlite(':memory:')
    sqlite.exec('CREATE TABLE t (text TEXT)')
    sqlite.run('INSERT INTO t VALUES (?)', 'before\0after')
    expect(sqlite.get('SELECT text FROM t WHERE text = ?', 'before\0after')).toEqual({
      text: 'before\u2400after',
    })
  })

  it('reads row by row, also while the collector is at work', async () => {
    const sqlite = openSqlite(':memory:')
    let sum = 0
    const rows = sqlite.iterate<{ value: number }>(
      'WITH RECURSIVE n (value) AS (SELECT 1 UNION ALL SELECT value + 1 FROM n LIMIT ?) SELECT value FROM n',
      1_000,
    )
    for (const { value } of rows) {
      sum += value
      if (value === 500) await collect()
    }
    expect(sum).toBe(500_500)
  })
})

describe('a fault is known by its kind', () => {
  const kindOf = (work: () => unknown): string => {
    try {
      work()
    } catch (error) {
      return databaseFaultKind(error)
    }
    return 'none'
  }

  it('a full disk', () => {
    const sqlite = openSqlite(temporaryFile())
    sqlite.exec('CREATE TABLE t (text TEXT); PRAGMA max_page_count = 4')
    expect(kindOf(() => sqlite.run('INSERT INTO t VALUES (?)', 'x'.repeat(50_000)))).toBe('full')
  })

  it('a database, or a folder, that cannot be written', () => {
    const file = temporaryFile()
    openSqlite(file).exec('CREATE TABLE t (text TEXT)')
    const reader = openSqlite(file, { readOnly: true })
    expect(kindOf(() => reader.run('INSERT INTO t VALUES (1)'))).toBe('read-only')
    expect(kindOf(() => openSqlite(`${file}/below/it.db`))).toBe('read-only')
  })

  it('no file to read, which is not made', () => {
    expect(kindOf(() => openSqlite(temporaryFile('none.db'), { readOnly: true }))).toBe('read-only')
  })

  it('a database that somebody else is writing', () => {
    const file = temporaryFile()
    const first = openSqlite(file)
    first.exec('CREATE TABLE t (text TEXT); BEGIN IMMEDIATE')
    const second = openSqlite(file)
    expect(kindOf(() => second.exec('BEGIN IMMEDIATE'))).toBe('busy')
    first.exec('COMMIT')
    expect(kindOf(() => second.exec('BEGIN IMMEDIATE'))).toBe('none')
  })

  it('a file that is not a database', () => {
    const file = temporaryFile()
    writeFileSync(file, 'a letter to a friend, at some length. '.repeat(200))
    expect(kindOf(() => openSqlite(file).pragma('user_version'))).toBe('damaged')
  })

  it('a mistake of the program is none of these', () => {
    expect(kindOf(() => openSqlite(':memory:').exec('SELEC'))).toBe('other')
    expect(databaseFaultKind(undefined)).toBe('other')
  })
})
