import { spawn } from 'node:child_process'
import { describe, expect, it } from 'vitest'
import { lockKeyLines } from '../../src/ptt/keyLineLock.js'
import { systemClock } from '../../src/runtime/systemClock.js'
import { compiled } from './helperProcess.js'

const clock = systemClock()
/** Names of this process's own: other tests run beside it. */
const name = (what: string): string => `${process.pid} ${what}`
const lock = (...names: string[]) => lockKeyLines(names, 'radio: key line', clock)

describe.skipIf(process.platform !== 'linux')('a lock on key lines', () => {
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

  it('other names are free', async () => {
    const releases = await Promise.all([lock(name('e')), lock(name('f')), lock()])
    await Promise.all(releases.map((release) => release()))
  })

  it('ends with its process, however that ends', async () => {
    const module = JSON.stringify(compiled('src/ptt/keyLineLock.js'))
    const clockModule = JSON.stringify(compiled('src/runtime/systemClock.js'))
    const script = `
      import { lockKeyLines } from ${module}
      import { systemClock } from ${clockModule}
      await lockKeyLines([${JSON.stringify(name('g'))}], 'other', systemClock())
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
