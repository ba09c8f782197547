import { mkdirSync, mkdtempSync, rmSync, symlinkSync } from 'node:fs'
import { tmpdir } from 'node:os'
import { join } from 'node:path'
import { afterEach, beforeEach, describe, expect, it } from 'vitest'
import { logCommand } from '../../src/cli/log/log.js'
import { systemClock } from '../../src/runtime/systemClock.js'
import { virtualClock } from '../../src/runtime/virtualClock.js'
import { lockDatabase } from '../../src/setup/databaseLock.js'
import { backupDatabase } from '../../src/store/backup.js'
import { collect } from '../store/collect.js'
import { openTestStore } from '../store/openTestStore.js'
import { runCommand } from './commandBench.js'

const clock = systemClock()
let folder: string
beforeEach(() => {
  folder = mkdtempSync(join(tmpdir(), 'ridgepost-lock-'))
})
afterEach(() => rmSync(folder, { recursive: true }))

describe.skipIf(process.platform !== 'linux')('a lock on a database', () => {
  it('is had by one, by whatever name of its folder, also before the file is there', async () => {
    mkdirSync(join(folder, 'data'))
    symlinkSync(join(folder, 'data'), join(folder, 'link'))
    const release = await lockDatabase(join(folder, 'data', 'node.db'), clock)
    for (const name of ['data', 'link', 'data/../link'])
      await expect(lockDatabase(join(folder, name, 'node.db'), clock)).rejects.toMatchObject({
        code: 'database-taken',
      })
    await (await lockDatabase(join(folder, 'data', 'other.db'), clock))()
    await release()
    await (await lockDatabase(join(folder, 'link', 'node.db'), clock))()
  })

  it('is none where nobody else can have it', async () => {
    const releases = [await lockDatabase(':memory:', clock), await lockDatabase(':memory:', clock)]
    for (const release of releases) await release()
  })

  it('keeps a restore from replacing the database of a node that runs, and leaves it free after one', async () => {
    const file = join(folder, 'node.db')
    openTestStore(file).store.close()
    await backupDatabase(file, `${file}.copy`, { clock: virtualClock() })
    const restore = () =>
      runCommand(logCommand, ['--database', file, '--restore', `${file}.copy`, '--yes'])
    const release = await lockDatabase(file, clock)
    const refused = await restore()
    expect(refused.exitCode).toBe(1)
    expect(refused.stderr).toContain(
      `${file}: got process ${process.pid} that has it, expected a database that no other program uses`,
    )
    await release()
    await collect()
    expect(await restore()).toMatchObject({ exitCode: 0, stderr: '' })
    await (await lockDatabase(file, clock))()
  })
})
