import { describe, expect, it } from 'vitest'
import { createLastResort } from '../../src/cli/run/lastResort.js'
import { virtualClock } from '../../src/runtime/virtualClock.js'

function bench(throwing = false) {
  const clock = virtualClock()
  const done: string[] = []
  const note = (text: string): void => {
    done.push(text)
    if (throwing) throw new Error('and this fails too')
  }
  const port = {
    hold: (source: string) => note(`hold ${source}`),
    release: (source: string) => note(`release ${source}`),
  }
  const caught = createLastResort({
    clock,
    ports: [port, port],
    onError: (text) => note(text),
    onTooMany: () => note('too many'),
  })
  return { clock, done, caught }
}

describe('what was caught by nobody', () => {
  it('unkeys every radio first, is recorded, and leaves a node that goes on', () => {
    const { clock, done, caught } = bench()
    caught(new TypeError('x is undefined'))
    expect(done.slice(0, 2)).toEqual(['hold program fault', 'hold program fault'])
    expect(done[2]).toMatch(/^the program is at fault: x is undefined \(at .*lastResort\.test/)
    expect(done).toHaveLength(3)
    clock.advanceBy(1000)
    expect(done.slice(3)).toEqual(['release program fault', 'release program fault'])
  })

  it('that comes again and again ends the program, which sends nothing any more', () => {
    const { clock, done, caught } = bench()
    for (let count = 0; count < 5; count++) {
      caught('thrown text')
      clock.advanceBy(10_000)
    }
    expect(done).not.toContain('too many')
    done.length = 0
    caught(undefined)
    expect(done.at(-1)).toBe('too many')
    clock.advanceBy(10_000)
    expect(done.filter((text) => text.startsWith('release'))).toEqual([])
  })

  it('one in an hour never ends it', () => {
    const { clock, done, caught } = bench()
    for (let count = 0; count < 200; count++) {
      caught(new Error('again'))
      clock.advanceBy(3_600_001)
    }
    expect(done).not.toContain('too many')
  })

  it('does what it can when all else fails, too', () => {
    const { clock, done, caught } = bench(true)
    caught(new Error('first'))
    clock.advanceBy(1000)
    expect(done).toHaveLength(5)
  })
})
