import { mkdtempSync, renameSync, rmSync, writeFileSync } from 'node:fs'
import { tmpdir } from 'node:os'
import { join } from 'node:path'
import { afterEach, beforeEach, describe, expect, it } from 'vitest'
import { virtualClock } from '../../../src/runtime/virtualClock.js'
import { liveData } from '../../../src/services/data/liveData.js'
import { readDataFile } from '../../../src/services/data/readDataFile.js'

let folder: string
beforeEach(() => {
  folder = mkdtempSync(join(tmpdir(), 'live-'))
})
afterEach(() => rmSync(folder, { recursive: true }))

const openText = (path: string, faults: unknown[] = []) =>
  liveData({
    path,
    clock: virtualClock(),
    load: (file) => readDataFile(file, 'a text'),
    onFault: (error) => faults.push(error),
  })

describe('liveData', () => {
  it('loads at once, and again when two looks agree that the file has changed', async () => {
    const file = join(folder, 'a.txt')
    writeFileSync(file, 'one')
    const live = openText(file)
    await live.ready
    expect(live.current()).toBe('one')
    await live.look()
    writeFileSync(join(folder, 'new'), 'two and more')
    renameSync(join(folder, 'new'), file)
    await live.look()
    expect(live.current()).toBe('one')
    await live.look()
    expect(live.current()).toBe('two and more')
    live.close()
  })

  it('looks by itself as time goes', async () => {
    const file = join(folder, 'a.txt')
    writeFileSync(file, 'one')
    const clock = virtualClock()
    let loads = 0
    const live = liveData({ path: file, clock, load: async () => ++loads, onFault: () => {} })
    await live.ready
    writeFileSync(file, 'longer')
    for (let look = 0; look < 3; look++) {
      clock.advanceBy(5000)
      await live.look()
    }
    expect(loads).toBe(2)
    live.close()
    expect(clock.nextAtMs()).toBeUndefined()
  })

  it('keeps the last good data when the file goes away, and says so once', async () => {
    const file = join(folder, 'a.txt')
    writeFileSync(file, 'one')
    const faults: unknown[] = []
    const live = openText(file, faults)
    await live.ready
    rmSync(file)
    for (let look = 0; look < 4; look++) await live.look()
    expect(live.current()).toBe('one')
    expect(faults.map(String)).toEqual([expect.stringContaining('no such file')])
    writeFileSync(file, 'back again')
    for (let look = 0; look < 2; look++) await live.look()
    expect(live.current()).toBe('back again')
    live.close()
  })

  it('has nothing, and says so, when there is no file at the start', async () => {
    const faults: unknown[] = []
    const live = openText(join(folder, 'none'), faults)
    await live.ready
    expect(live.current()).toBeUndefined()
    expect(faults).toHaveLength(1)
    live.close()
  })
})
