import { spawnSync } from 'node:child_process'
import {
  existsSync,
  mkdirSync,
  readdirSync,
  readFileSync,
  symlinkSync,
  utimesSync,
  writeFileSync,
} from 'node:fs'
import { dirname, join, resolve } from 'node:path'
import { beforeEach, describe, expect, it } from 'vitest'
import { virtualClock } from '../../src/runtime/virtualClock.js'
import { backupDatabase, checkDatabase } from '../../src/store/backup.js'
import { removeBrokenCopies, withPartialCopy } from '../../src/store/partialCopy.js'
import { openTestStore, temporaryFile } from './openTestStore.js'

const entry = resolve(import.meta.dirname, '../../src/store/partialCopy.ts')
const hourMs = 3_600_000

let database: string
let copy: string
beforeEach(() => {
  database = temporaryFile()
  openTestStore(database).store.close()
  copy = join(dirname(database), 'copy.db')
})

const inFolder = (): string[] => readdirSync(dirname(database)).sort()
const own = ['node.db', 'node.db-heard']
const ofDatabase = (names: readonly string[]): string[] =>
  names.filter((name) => !/^node\.db-(wal|shm)$/.test(name))

/** What a process leaves that is killed while it makes a copy, as SQLite begins one: without a header. */
function killedCopy(toFile: string): void {
  const script = `
    import { writeFileSync } from 'node:fs'
    import { withPartialCopy } from ${JSON.stringify(entry)}
    void withPartialCopy(${JSON.stringify(toFile)}, {}, (partial) => {
      writeFileSync(partial, new Uint8Array(5000))
      writeFileSync(partial + '-journal', new Uint8Array(1024))
      process.kill(process.pid, 'SIGKILL')
    })`
  const { signal, stderr } = spawnSync(
    process.execPath,
    ['--import', 'tsx', '--input-type=module', '-e', script],
    { encoding: 'utf8' },
  )
  expect({ signal, stderr }).toEqual({ signal: 'SIGKILL', stderr: '' })
}

const left = ['copy.db.partial', 'copy.db.partial-journal', 'copy.db.partial-note']
const ageBy = (ms: number, clock: { wallMs(): number }): void => {
  for (const name of inFolder())
    if (name.includes('.partial')) {
      const seconds = (clock.wallMs() - ms) / 1000
      utimesSync(join(dirname(database), name), seconds, seconds)
    }
}

describe('a back-up that was killed half-way', () => {
  it('leaves what the next one of that name removes, and says so', async () => {
    killedCopy(copy)
    expect(ofDatabase(inFolder())).toEqual([...left, ...own].sort())
    const found: string[] = []
    const clock = virtualClock()
    await backupDatabase(database, copy, { clock, onLeft: (name) => found.push(name) })
    expect(found).toEqual([`${copy}.partial`])
    expect(ofDatabase(inFolder())).toEqual(['copy.db', ...own])
    expect(checkDatabase(copy).eventCount).toBe(0)
    await backupDatabase(database, copy, { clock, onLeft: (name) => found.push(name) })
    expect(found).toHaveLength(1)
  })

  it('leaves what is removed beside a database after an hour', async () => {
    killedCopy(copy)
    const clock = virtualClock()
    ageBy(hourMs, clock)
    expect(await removeBrokenCopies(database, clock)).toEqual([])
    expect(ofDatabase(inFolder())).toEqual([...left, ...own].sort())
    clock.advanceBy(1_000)
    expect(await removeBrokenCopies(database, clock)).toEqual([`${copy}.partial`])
    expect(ofDatabase(inFolder())).toEqual(own)
    expect(await removeBrokenCopies(database, clock)).toEqual([])
  })

  it('leaves a note alone where it came no further', async () => {
    killedCopy(copy)
    const clock = virtualClock()
    const note = readFileSync(`${copy}.partial-note`)
    await backupDatabase(database, copy, { clock })
    writeFileSync(`${copy}.partial-note`, note)
    ageBy(2 * hourMs, clock)
    expect(await removeBrokenCopies(database, clock)).toEqual([`${copy}.partial`])
    expect(ofDatabase(inFolder())).toEqual(['copy.db', ...own])
  })
})

describe('what stays', () => {
  const clock = virtualClock()
  const staysAfter = async (): Promise<void> => {
    const before = inFolder()
    ageBy(48 * hourMs, clock)
    expect(await removeBrokenCopies(database, clock)).toEqual([])
    expect(inFolder()).toEqual(before)
  }

  it('is a file without our note', async () => {
    writeFileSync(`${copy}.partial`, new Uint8Array(100))
    await staysAfter()
  })

  it('is one with another note', async () => {
    killedCopy(copy)
    writeFileSync(`${copy}.partial-note`, 'my own note')
    await staysAfter()
  })

  it('is one that is no database', async () => {
    killedCopy(copy)
    writeFileSync(`${copy}.partial`, 'a letter to somebody')
    await staysAfter()
  })

  it('is a link, and what it leads to', async () => {
    killedCopy(copy)
    const note = readFileSync(`${copy}.partial-note`)
    const other = join(dirname(database), 'other')
    mkdirSync(other)
    writeFileSync(join(other, 'kept'), new Uint8Array(20))
    symlinkSync(join(other, 'kept'), join(dirname(database), 'link.partial'))
    writeFileSync(join(dirname(database), 'link.partial-note'), note)
    for (const name of left) utimesSync(join(dirname(database), name), 1e9, 1e9)
    utimesSync(join(dirname(database), 'link.partial-note'), 1e9, 1e9)
    expect(await removeBrokenCopies(database, clock)).toEqual([`${copy}.partial`])
    expect(inFolder()).toContain('link.partial')
    expect(existsSync(join(other, 'kept'))).toBe(true)
  })

  it.runIf(process.platform === 'linux')('is one that is just being made', async () => {
    let checked: Promise<string[]> = Promise.resolve(['nothing was checked'])
    await withPartialCopy(copy, { clock }, async (partial) => {
      writeFileSync(partial, new Uint8Array(5000))
      ageBy(48 * hourMs, clock)
      checked = removeBrokenCopies(database, clock)
      expect(await checked).toEqual([])
      expect(existsSync(partial)).toBe(true)
      await expect(backupDatabase(database, copy, { clock })).rejects.toThrow(
        /copy\.db: got (another process|process \d+) that has it/,
      )
    })
    expect(await checked).toEqual([])
  })

  it('is nothing of a copy that fails', async () => {
    await expect(
      withPartialCopy(copy, { clock }, (partial) => {
        writeFileSync(partial, new Uint8Array(5000))
        throw new Error('no room')
      }),
    ).rejects.toThrow('no room')
    expect(ofDatabase(inFolder())).toEqual(own)
  })
})
