import { describe, expect, it } from 'vitest'
import { type CaughtFault, createGuard, guardedClock } from '../../src/runtime/guard.js'
import { virtualClock } from '../../src/runtime/virtualClock.js'

const bench = () => {
  const faults: CaughtFault[] = []
  return { guard: createGuard((fault) => faults.push(fault)), faults }
}
const fail = (words: string): never => {
  throw new RangeError(words)
}

describe('a guard', () => {
  it('hands back what went well, and nothing of what did not', () => {
    const { guard, faults } = bench()
    expect(guard.call('a sum', () => 2 + 2)).toBe(4)
    expect(guard.call('a row', () => fail('no such column'))).toBeUndefined()
    expect(guard.faultCount).toBe(1)
    expect(faults).toHaveLength(1)
    expect(faults[0]).toMatchObject({ what: 'a row', error: expect.any(RangeError) })
    expect(faults[0]!.reason).toMatch(/^no such column \(guard\.test\.ts:\d+\)$/)
  })

  it('counts every fault, and reports each place once, whatever the words', () => {
    const { guard, faults } = bench()
    for (let at = 0; at < 1_000; at++) guard.call('a frame', () => fail(`frame ${at}`))
    expect(guard.faultCount).toBe(1_000)
    expect(faults).toHaveLength(1)
    guard.call('a row', () => fail('row'))
    guard.call('a frame', () => {
      throw new RangeError('another place')
    })
    expect(faults.map(({ what }) => what)).toEqual(['a frame', 'a row', 'a frame'])
  })

  it('guards listeners and promises', async () => {
    const { guard, faults } = bench()
    const heard: number[] = []
    const listener = guard.listener('a listener', (value: number) => {
      if (value < 0) fail('below zero')
      heard.push(value)
    })
    for (const value of [1, -1, 2]) listener(value)
    expect(heard).toEqual([1, 2])
    await expect(guard.call('work', async () => fail('late'))).resolves.toBeUndefined()
    await expect(guard.call('work', async () => 'done')).resolves.toBe('done')
    expect(faults.map(({ what }) => what)).toEqual(['a listener', 'work'])
  })

  it('outlives a report that fails, and what is thrown is no error at all', () => {
    const guard = createGuard(() => fail('the log is full'))
    guard.call('a row', () => {
      throw 'words'
    })
    expect(guard.faultCount).toBe(2)
    const { guard: other, faults } = bench()
    other.call('a row', () => {
      throw undefined
    })
    expect(faults[0]!.reason).toBe('undefined')
  })

  it('a fault while one is reported is counted, and does not begin another report', () => {
    const reports: string[] = []
    const guard = createGuard(({ what }) => {
      reports.push(what)
      guard.call('keeping the report', () => fail('disk full'))
    })
    guard.call('a row', () => fail('no such column'))
    expect(reports).toEqual(['a row'])
    expect(guard.faultCount).toBe(2)
  })
})

describe('a guarded clock', () => {
  it('rings on after a timer that throws', () => {
    const { guard, faults } = bench()
    const inner = virtualClock()
    const clock = guardedClock(inner, guard)
    const rung: number[] = []
    clock.at(10, () => fail('at ten'))
    clock.at(20, () => rung.push(clock.monotonicMs()))
    clock.at(30, () => rung.push(-1))()
    inner.advanceTo(100)
    expect(rung).toEqual([20])
    expect(clock.wallMs()).toBe(inner.wallMs())
    expect(faults.map(({ what }) => what)).toEqual(['a timer'])
  })

  it('says of a timer that it keeps no process alive', () => {
    const { guard } = bench()
    const inner = virtualClock()
    const said: unknown[] = []
    const asked: typeof inner.at = (atMs, run, how) => {
      said.push(how)
      return inner.at(atMs, run)
    }
    guardedClock({ ...inner, at: asked }, guard).at(10, () => {}, { keepsAlive: false })
    expect(said).toEqual([{ keepsAlive: false }])
  })
})
