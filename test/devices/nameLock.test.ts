import { spawn } from 'node:child_process'
import { describe, expect, it } from 'vitest'
import { type LockKind, lockNames } from '../../src/devices/nameLock.js'
import { systemClock } from '../../src/runtime/systemClock.js'
import { compiled } from '../ptt/helperProcess.js'

const clock = systemClock()
const kind: LockKind = {
  name: 'key-line',
  expected: 'a key line of its own',
  advice: 'end that first',
}
/** Names of this process's own: other tests run beside it. */
const name = (what: string): string => `${process.pid} ${what}`
const lock = (...names: string[]) => lockNames(kind, names, 'radio: key line', clock)

describe.skipIf(process.platform !== 'linux')('a lock on names', () => {
  it('is had by one, and by another when it is let go of', async () => {
    const release = await lock(name('a'))
    const refused = await lock(name('a')).catch((error: unknown) => error)
    expect(refused).toMatchObject({ code: 'key-line-taken' })
    expect(String(refused)).toMatch(
      new RegExp(`radio: key line: got process ${process.pid} that has it, .*end that first`),
    )
    await release()
    await (await lock(name('a')))()
  })

  it('of several names holds all or none; equal names are one', async () => {
    const release = await lock(name('c'))
    await expect(lock(name('b'), name('b'), name('c'), name('d'))).rejects.toMatchObject({
      code: 'key-line-taken',
    })
    await release()
    await (await lock(name('b'), name('b'), name('c'), name('d')))()
  })

  it('is of its kind only', async () => {
    const release = await lock(name('h'))
    const other = { ...kind, name: 'other-kind' }
    await (await lockNames(other, [name('h')], 'other', clock))()
    await release()
  })

  it('other names are free', async () => {
    const releases = await Promise.all([lock(name('e')), lock(name('f')), lock()])
    await Promise.all(releases.map((release) => release()))
  })

  it('ends with its process, however that ends', async () => {
    const module = JSON.stringify(compiled('src/devices/nameLock.js'))
    const clockModule = JSON.stringify(compiled('src/runtime/systemClock.js'))
    const script = `
      import { lockNames } from ${module}
      import { systemClock } from ${clockModule}
      await lockNames(${JSON.stringify(kind)}, [${JSON.stringify(name('g'))}], 'other', systemClock())
      console.log('locked')
      process.stdin.resume()`
    const other = spawn(process.execPath, ['--input-type=module', '-e', script], {
      stdio: ['pipe', 'pipe', 'inherit'],
    })
    await new Promise((resolve) => other.stdout.once('data', resolve))
    await expect(lock(name('g'))).rejects.toThrow(`process ${other.pid} that has it`)
    const gone = new Promise((resolve) => other.once('exit', resolve))
    other.kill('SIGKILL')
    await gone
    await (await lock(name('g')))()
  })
})
