import { closeSync, openSync } from 'node:fs'
import { describe, expect, it } from 'vitest'
import { steadyOutput, type WriteSome, writeTo } from '../../src/devices/steadyOutput.js'
import { systemClock } from '../../src/runtime/systemClock.js'
import { virtualClock } from '../../src/runtime/virtualClock.js'

/** A file whose room the test decides about; each write ends in a later turn, as a real one does. */
function bench() {
  const clock = virtualClock()
  let text = ''
  let error: string | undefined
  let room = Number.POSITIVE_INFINITY
  let hangs = false
  const writeSome: WriteSome = (octets, done) => {
    if (hangs) return
    queueMicrotask(() => {
      const count = Math.min(room, octets.length)
      if (error !== undefined || count === 0)
        return done(Object.assign(new Error('no'), { code: error ?? 'ENOSPC' }), 0)
      room -= count
      text += Buffer.from(octets.subarray(0, count)).toString()
      done(null, count)
    })
  }
  const output = steadyOutput(writeSome, clock)
  const told: string[] = []
  output.listen({
    lost: (reason) => told.push(`lost: ${reason}`),
    back: (count, reason) => told.push(`back after ${count}: ${reason}`),
  })
  return {
    clock,
    output,
    told,
    text: () => text,
    set: (change: { error?: string; room?: number; hangs?: boolean }) => {
      error = change.error
      room = change.room ?? Number.POSITIVE_INFINITY
      hangs = change.hangs ?? false
    },
    write: async (...lines: string[]) => {
      for (const line of lines) output.write(`${line}\n`)
      await output.flush(1000)
    },
  }
}

describe('a log that nothing ends', () => {
  it('a full disk loses lines, says so once, and takes up again when there is room', async () => {
    const { write, set, text, told, output } = bench()
    await write('one')
    set({ room: 0 })
    await write('two', 'three')
    await write('four')
    expect(told).toEqual(['lost: the disk is full'])
    set({})
    await write('five')
    expect(told).toEqual(['lost: the disk is full', 'back after 3: the disk is full'])
    expect(text()).toBe('one\nfive\n')
    expect(output.lostCount).toBe(3)
  })

  it('a line that was cut by the end of the disk spoils none that follow', async () => {
    const { write, set, text } = bench()
    set({ room: 6 })
    await write('a longer line', 'lost')
    set({})
    await write('whole')
    expect(text()).toBe('a long\nwhole\n')
  })

  it('a pipe that is full for a moment loses nothing', async () => {
    const { output, set, text, clock } = bench()
    set({ error: 'EAGAIN' })
    output.write('one\n')
    for (let turn = 0; turn < 5; turn++) await Promise.resolve()
    set({})
    clock.advanceBy(50)
    await output.flush(1000)
    expect(text()).toBe('one\n')
  })

  it('a reader that hangs takes a bounded lot of memory, and no time at the end', async () => {
    const { output, set, told, clock } = bench()
    set({ hangs: true })
    for (let count = 0; count < 20_000; count++) output.write(`${'x'.repeat(99)}\n`)
    expect(output.lostCount).toBeGreaterThan(9_000)
    expect(told).toEqual(['lost: nobody reads it'])
    const flushed = output.flush(2000)
    clock.advanceBy(2000)
    await flushed
  })

  it('a reader that is gone is gone', async () => {
    const { write, set, told, output } = bench()
    set({ error: 'EPIPE' })
    await write('one', 'two')
    set({})
    await write('three')
    expect(told).toEqual(['lost: the other side is gone'])
    expect(output.lostCount).toBe(3)
  })

  it('the real device that is always full', async () => {
    const descriptor = openSync('/dev/full', 'w')
    const output = steadyOutput(writeTo(descriptor), systemClock())
    const told: string[] = []
    output.listen({ lost: (reason) => told.push(reason), back: () => {} })
    output.write('one\n')
    output.write('two\n')
    await output.flush(5000)
    expect(told).toEqual(['the disk is full'])
    expect(output.lostCount).toBe(2)
    closeSync(descriptor)
  })
})
