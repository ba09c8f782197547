import { mkdirSync, mkdtempSync, rmdirSync, rmSync } from 'node:fs'
import { tmpdir } from 'node:os'
import { join } from 'node:path'
import { afterEach, beforeEach, describe, expect, it } from 'vitest'
import { usableAgain, usableLookMs } from '../../src/cli/run/usableAgain.js'
import { virtualClock } from '../../src/runtime/virtualClock.js'
import { openStore } from '../../src/store/store.js'

let folder: string
beforeEach(() => {
  folder = mkdtempSync(join(tmpdir(), 'usable-'))
})
afterEach(() => rmSync(folder, { recursive: true }))

/** A folder stands where the database would be, until the test takes it away. */
function unusable(isService: boolean) {
  const clock = virtualClock()
  const database = join(folder, 'node.db')
  mkdirSync(database)
  const told: string[] = []
  const { again, cancel } = usableAgain({
    ...{ clock, database, isService },
    tryIt: () => openStore({ file: database, clock }).close(),
    onUsable: (text) => told.push(text),
  })
  again.catch((error: Error) => told.push(`ends: ${error.message}`))
  const look = async (): Promise<string[]> => {
    await clock.advanceToAsync(clock.monotonicMs() + usableLookMs)
    return told
  }
  return { look, cancel, mend: () => rmdirSync(database) }
}

describe('a database that could not be used at the start', () => {
  it('once it can, has a service end, to be started anew with it', async () => {
    const { look, mend } = unusable(true)
    expect(await look()).toEqual([])
    mend()
    expect(await look()).toEqual([expect.stringMatching(/^ends: .*node\.db.* can be opened again/)])
    expect(await look()).toHaveLength(1)
  })

  it('is told of once where nobody would start the program anew', async () => {
    const { look, mend } = unusable(false)
    mend()
    expect(await look()).toEqual([expect.stringMatching(/node\.db can be opened again: start/)])
    expect(await look()).toHaveLength(1)
  })

  it('is not looked at any more once the node has ended', async () => {
    const { look, mend, cancel } = unusable(true)
    cancel()
    mend()
    expect(await look()).toEqual([])
  })
})
