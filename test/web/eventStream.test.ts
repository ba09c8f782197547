import { EventEmitter } from 'node:events'
import type { ServerResponse } from 'node:http'
import { describe, expect, it } from 'vitest'
import { virtualClock } from '../../src/runtime/virtualClock.js'
import { createEventStream } from '../../src/web/eventStream.js'

/** A viewer that takes all at once, and when each piece came. */
function viewer() {
  const clock = virtualClock()
  const stream = createEventStream(clock, 'boot', () => {})
  const written: { readonly atMs: number; readonly text: string }[] = []
  const response = Object.assign(new EventEmitter(), {
    writableLength: 0,
    write: (text: string) => void written.push({ atMs: clock.monotonicMs(), text }),
  }) as unknown as ServerResponse
  stream.attach(response, { after: undefined, rows: true, isPublic: false })
  written.length = 0
  return { clock, stream, written, startMs: clock.monotonicMs() }
}

const item = { type: 'event', at: 0 }

describe('what is told', () => {
  it('is told at once, and then no more often than ten times a second', async () => {
    const { clock, stream, written, startMs } = viewer()
    clock.advanceBy(500)
    for (let count = 0; count < 50; count++) {
      stream.publish({ ...item, count })
      await Promise.resolve()
      clock.advanceBy(5)
    }
    clock.advanceBy(1000)
    const times = written.filter(({ text }) => text.includes('data: [')).map(({ atMs }) => atMs)
    expect(times.map((atMs) => atMs - startMs)).toEqual([500, 600, 700, 800])
    const all = written.map(({ text }) => text).join('')
    for (let count = 0; count < 50; count++) expect(all).toContain(`"count":${count}}`)
  })

  it('goes on where somebody was, also in a run whose name has a dash', () => {
    const stream = createEventStream(virtualClock(), 'boot-2', () => {})
    stream.publish({ ...item, count: 1 })
    const after = stream.cursor()
    stream.publish({ ...item, count: 2 })
    const written: string[] = []
    const response = Object.assign(new EventEmitter(), {
      ...{ writableLength: 0, write: (text: string) => void written.push(text) },
    }) as unknown as ServerResponse
    stream.attach(response, { after, rows: false, isPublic: false })
    expect(written.join('')).toContain('data: [{"type":"event","at":0,"count":2}]')
  })

  it('is a sign of life by itself; who gets nothing is told a beat at least each 2.5 s', async () => {
    const { clock, stream, written } = viewer()
    for (let count = 0; count < 100; count++) {
      stream.publish({ ...item, count })
      await Promise.resolve()
      clock.advanceBy(125)
    }
    expect(written.some(({ text }) => text.includes('beat'))).toBe(false)
    written.length = 0
    const silentMs = clock.monotonicMs()
    clock.advanceBy(10_000)
    const beats = [silentMs, ...written.map(({ atMs }) => atMs)]
    expect(written.every(({ text }) => text.includes('event: beat'))).toBe(true)
    const gaps = beats.slice(1).map((atMs, index) => atMs - beats[index]!)
    expect(gaps.length).toBeGreaterThan(4)
    expect(Math.max(...gaps)).toBeLessThanOrEqual(2500)
  })
})
