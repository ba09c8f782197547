import { mkdtempSync, rmSync, writeFileSync } from 'node:fs'
import { tmpdir } from 'node:os'
import { join } from 'node:path'
import { afterEach, beforeEach, describe, expect, it } from 'vitest'
import { watchHolds } from '../../src/radio/holdWatch.js'
import { virtualClock } from '../../src/runtime/virtualClock.js'

let folder: string
beforeEach(() => {
  folder = mkdtempSync(join(tmpdir(), 'ridgepost-hold-'))
})
afterEach(() => rmSync(folder, { recursive: true }))

function radio() {
  const holds = new Map<string, string>()
  return {
    holds,
    hold: (source: string, reason: string) => void holds.set(source, reason),
    release: (source: string) => void holds.delete(source),
  }
}

describe('hold watch', () => {
  it('holds from the start while the file exists, and not after', async () => {
    const file = join(folder, 'stop')
    const clock = virtualClock()
    const port = radio()
    writeFileSync(file, '')
    const watch = watchHolds({ port, clock, file, input: undefined, inputIntervalMs: 500 })
    expect(port.holds.get('file')).toBe(`${file} exists`)
    rmSync(file)
    clock.advanceBy(250)
    expect(port.holds.size).toBe(0)
    writeFileSync(file, '')
    clock.advanceBy(250)
    expect(port.holds.size).toBe(1)
    await watch.close()
  })

  it('holds until the contact has been read, while it is on, and when it cannot be read', async () => {
    const clock = virtualClock()
    const port = radio()
    let contact: boolean | Error = false
    const watch = watchHolds({
      port,
      clock,
      file: '',
      input: {
        name: 'contact',
        read: async () => {
          if (contact instanceof Error) throw contact
          return contact
        },
        close: async () => {},
      },
      inputIntervalMs: 500,
    })
    expect(port.holds.get('input')).toBe('contact has not been read yet')
    await clock.advanceToAsync(100)
    expect(port.holds.size).toBe(0)
    contact = true
    await clock.advanceToAsync(600)
    expect(port.holds.get('input')).toBe('contact is on')
    contact = new Error('unplugged')
    await clock.advanceToAsync(1100)
    expect(port.holds.get('input')).toBe('contact cannot be read: unplugged')
    contact = false
    await clock.advanceToAsync(1600)
    expect(port.holds.size).toBe(0)
    await watch.close()
  })

  it('asks a slow contact once at a time, and does nothing with what it says after the end', async () => {
    const clock = virtualClock()
    const port = radio()
    const answers: ((on: boolean) => void)[] = []
    const watch = watchHolds({
      ...{ port, clock, file: '', inputIntervalMs: 500 },
      input: {
        name: 'contact',
        read: () => new Promise((resolve) => answers.push(resolve)),
        close: async () => {},
      },
    })
    await clock.advanceToAsync(3000)
    expect(answers).toHaveLength(1)
    expect(port.holds.get('input')).toBe('contact has not been read yet')
    answers[0]!(false)
    await clock.advanceToAsync(3500)
    expect(answers).toHaveLength(2)
    expect(port.holds.size).toBe(0)
    await watch.close()
    answers[1]!(true)
    await clock.advanceToAsync(10_000)
    expect(port.holds.size).toBe(0)
    expect(answers).toHaveLength(2)
  })

  it('looks for its file four times a second, until it is closed', async () => {
    const file = join(folder, 'stop')
    const clock = virtualClock()
    const port = radio()
    const watch = watchHolds({ port, clock, file, input: undefined, inputIntervalMs: 500 })
    writeFileSync(file, '')
    clock.advanceTo(249)
    expect(port.holds.size).toBe(0)
    clock.advanceTo(250)
    expect([...port.holds]).toEqual([['file', `${file} exists`]])
    await watch.close()
    expect(clock.nextAtMs()).toBeUndefined()
    expect(port.holds.size).toBe(1)
  })

  it('with neither file nor contact looks at nothing', async () => {
    const clock = virtualClock()
    const port = radio()
    const watch = watchHolds({ port, clock, file: '', input: undefined, inputIntervalMs: 500 })
    expect([clock.nextAtMs(), port.holds.size]).toEqual([undefined, 0])
    await watch.close()
  })

  it('closes its contact, asks it no more, and says nothing of one that fails then', async () => {
    const clock = virtualClock()
    const port = radio()
    let closed = 0
    let fail = (_: Error): void => {}
    const watch = watchHolds({
      ...{ port, clock, file: '', inputIntervalMs: 500 },
      input: {
        name: 'contact',
        read: () =>
          new Promise((_, reject) => {
            fail = reject
          }),
        close: async () => void closed++,
      },
    })
    await clock.advanceToAsync(700)
    port.holds.clear()
    await watch.close()
    fail(new Error('too late'))
    await clock.advanceToAsync(2000)
    expect([closed, port.holds.size, clock.nextAtMs()]).toEqual([1, 0, undefined])
  })
})
