import { mkdirSync, mkdtempSync, rmSync, writeFileSync } from 'node:fs'
import { tmpdir } from 'node:os'
import { join } from 'node:path'
import { afterEach, beforeEach, describe, expect, it } from 'vitest'
import { safeStart } from '../../src/cli/run/safeStart.js'
import { countStart } from '../../src/cli/run/startCount.js'

let folder: string
beforeEach(() => {
  folder = mkdtempSync(join(tmpdir(), 'starts-'))
})
afterEach(() => rmSync(folder, { recursive: true }))

const faults: string[] = []
const count = (change: Partial<Parameters<typeof countStart>[0]> = {}) =>
  countStart({
    database: join(folder, 'node.db'),
    bootId: 'boot 1',
    onFault: (text) => faults.push(text),
    ...change,
  })

describe('starts that failed, in a row', () => {
  it('are counted until one is sound', () => {
    expect([count(), count(), count()].map(({ failedStarts }) => failedStarts)).toEqual([0, 1, 2])
    const fourth = count()
    expect(fourth.failedStarts).toBe(3)
    fourth.sound()
    expect(count().failedStarts).toBe(0)
  })

  it('one that was ended with a sentence is none of them', () => {
    count()
    count().withdraw()
    expect(count().failedStarts).toBe(1)
    count({ database: join(folder, 'other.db') }).withdraw()
    expect(count({ database: join(folder, 'other.db') }).failedStarts).toBe(0)
  })

  it('after the power was gone, or the machine was started anew, nothing is known', () => {
    count()
    count()
    expect(count({ bootId: 'boot 2' }).failedStarts).toBe(0)
  })

  it('a count that is damaged counts nothing', () => {
    for (const text of ['', '{', '[]', 'null', '{"bootId":"boot 1","count":"x"}', '{"count":-1}']) {
      writeFileSync(join(folder, 'node.db.starts.json'), text)
      expect(count().failedStarts).toBe(0)
    }
  })

  it('on a disk that cannot be written, systemd’s folder has the count', () => {
    // no file can be made there, whoever tries: a file stands where its folder would be
    writeFileSync(join(folder, 'file'), '')
    const runtimeFolder = join(folder, 'run')
    mkdirSync(runtimeFolder)
    const database = join(folder, 'file', 'node.db')
    const starts = [1, 2, 3].map(() => count({ database, runtimeFolder }))
    expect(starts.map(({ failedStarts }) => failedStarts)).toEqual([0, 1, 2])
    starts.at(-1)!.sound()
    expect(count({ database, runtimeFolder }).failedStarts).toBe(0)
    expect(faults).toEqual([])
    expect(count({ database }).failedStarts).toBe(0)
    expect(faults).toEqual([expect.stringMatching(/^starts are not counted: /)])
  })

  it('after three the past is left alone, after five the database', () => {
    expect([0, 1, 2].map((failed) => safeStart(failed, 'node.db'))).toEqual([
      undefined,
      undefined,
      undefined,
    ])
    expect(safeStart(3, 'node.db')).toMatchObject({ withoutDatabase: false })
    expect(safeStart(4, 'node.db')?.words).toMatch(/SAFE START after 4 .*node\.db stays there/)
    expect(safeStart(5, 'node.db')).toMatchObject({ withoutDatabase: true })
    expect(safeStart(50, 'node.db')?.words).toMatch(/node\.db is not opened/)
  })
})
