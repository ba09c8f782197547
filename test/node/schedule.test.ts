import { describe, expect, it } from 'vitest'
import { nextCronMs, onSchedule } from '../../src/node/schedule.js'
import { virtualClock } from '../../src/runtime/virtualClock.js'

const minuteMs = 60_000
const hourMs = 60 * minuteMs
const midnightMs = Date.UTC(2026, 0, 1)

/** When it runs: minutes of the wall clock after midnight. */
function bench(
  schedule: { readonly everyMs?: number; readonly cron?: string },
  { random = 0.5, startMinute = 0 } = {},
) {
  const steady = virtualClock(midnightMs + startMinute * minuteMs)
  let aheadMs = 0
  const clock = { ...steady, wallMs: () => steady.wallMs() + aheadMs }
  const times: number[] = []
  const minute = (): number => (clock.wallMs() - midnightMs) / minuteMs
  const cancel = onSchedule(
    clock,
    () => random,
    { kind: 'status', ...schedule },
    () => {
      times.push(minute())
    },
  )
  return {
    ...{ clock: steady, times, cancel },
    wait: (minutes: number) => steady.advanceBy(minutes * minuteMs),
    setClock: (byMinutes: number) => {
      aheadMs += byMinutes * minuteMs
    },
  }
}

describe('every so often', () => {
  it.each([
    [10, 0, 0.1],
    [10, 1, 1],
    [0.5, 0, 0.05],
    [0.5, 1, 0.5],
  ])(
    '%f minutes: the first time after a random share of the first minute',
    (every, random, first) => {
      const { times, wait } = bench({ everyMs: every * minuteMs }, { random })
      wait(30)
      expect(times[0]).toBeCloseTo(first, 9)
      expect(times[1]! - times[0]!).toBeCloseTo(every, 9)
      expect(times[2]! - times[0]!).toBeCloseTo(2 * every, 9)
    },
  )

  it('until it is cancelled, whatever the wall clock says', () => {
    const { times, wait, setClock, cancel, clock } = bench({ everyMs: 10 * minuteMs })
    wait(15)
    setClock(-300)
    wait(10)
    setClock(900)
    wait(10)
    expect(times).toHaveLength(4)
    cancel()
    expect(clock.nextAtMs()).toBeUndefined()
    wait(100)
    expect(times).toHaveLength(4)
  })
})

describe('by cron', () => {
  it('names moments in UTC, or none', () => {
    expect(nextCronMs('0 */6 * * *', midnightMs)).toBe(midnightMs + 6 * hourMs)
    expect(nextCronMs('0 0 31 2 *', midnightMs)).toBeUndefined()
    // six fields: with seconds
    expect(nextCronMs('30 0 12 * * *', midnightMs)).toBe(midnightMs + 12 * hourMs + 30_000)
  })

  it('names moments in UTC wherever the machine stands', () => {
    const { TZ } = process.env
    // nine hours ahead
    process.env.TZ = 'Asia/Tokyo'
    try {
      expect(new Date(midnightMs).getHours()).toBe(9)
      expect(nextCronMs('0 12 * * *', midnightMs)).toBe(midnightMs + 12 * hourMs)
    } finally {
      if (TZ === undefined) delete process.env.TZ
      else process.env.TZ = TZ
    }
  })

  it('runs at each moment, once, until it is cancelled', () => {
    const { times, wait, cancel, clock } = bench({ cron: '0,30 * * * *' })
    wait(100)
    expect(times).toEqual([30, 60, 90])
    cancel()
    expect(clock.nextAtMs()).toBeUndefined()
  })

  it('each second, where that is named', () => {
    const { times, wait } = bench({ cron: '* * * * * *' })
    wait(1)
    expect(times).toHaveLength(60)
  })

  it('that names nothing waits for nothing', () => {
    expect(bench({ cron: '0 0 31 2 *' }).clock.nextAtMs()).toBeUndefined()
  })

  it('that is not given, nor an interval, waits for nothing', () => {
    expect(bench({}).clock.nextAtMs()).toBeUndefined()
  })

  it('looks at the wall clock each minute', () => {
    const { clock } = bench({ cron: '0 * * * *' })
    expect(clock.nextAtMs()).toBe(minuteMs)
    clock.advanceTo(58.5 * minuteMs)
    expect(clock.nextAtMs()).toBe(59 * minuteMs)
    clock.advanceTo(59 * minuteMs)
    expect(clock.nextAtMs()).toBe(60 * minuteMs)
  })

  it('leaves out what a clock that was set forward went over', () => {
    const { times, wait, setClock } = bench({ cron: '0 * * * *' }, { startMinute: 30 })
    wait(10)
    // from 00:40 to 02:40
    setClock(120)
    wait(10)
    expect(times).toEqual([])
    wait(70)
    expect(times).toEqual([180, 240])
  })

  it('does what is due where that is not more than a minute ago', () => {
    const late = (byMinutes: number): number[] => {
      const { times, wait, setClock } = bench({ cron: '0 * * * *' }, { startMinute: 30 })
      wait(29)
      setClock(byMinutes)
      wait(5)
      return times
    }
    // it is looked at 00:59 by the old clock, and the timer rings a minute later
    expect(late(1)).toEqual([61])
    expect(late(1.001)).toEqual([])
  })

  it('goes by a clock that was set back', () => {
    const { times, wait, setClock } = bench({ cron: '0 * * * *' }, { startMinute: 630 })
    wait(40)
    expect(times).toEqual([660])
    // from 11:10 to 08:10
    setClock(-180)
    wait(120)
    expect(times).toEqual([660, 540, 600])
  })
})
