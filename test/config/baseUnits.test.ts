import { describe, expect, it } from 'vitest'
import { inBaseUnits } from '../../src/config/baseUnits.js'

describe('a table in base units', () => {
  it('has milliseconds, metres and shares, under names that say so', () => {
    const table = inBaseUnits({
      keepDays: 7,
      positionAgeMaxHours: 0.5,
      everyMinutes: 2,
      flushS: 0.25,
      rangeKm: 1.5,
      dutyPercent: 29,
    })
    // checked by the compiler: the name is derived, not written
    const keepMs: number = table.keepMs
    expect(keepMs).toBe(604_800_000)
    expect(table).toEqual({
      keepMs: 604_800_000,
      positionAgeMaxMs: 1_800_000,
      everyMs: 120_000,
      flushMs: 250,
      rangeM: 1500,
      dutyShare: 0.29,
    })
  })

  it('reaches inner tables and lists, of numbers too', () => {
    expect(
      inBaseUnits({
        retryGapsS: [8, 16],
        mailbox: { keepDays: 1 },
        schedule: [{ everyMinutes: 1 }],
      }),
    ).toEqual({
      retryGapsMs: [8000, 16_000],
      mailbox: { keepMs: 86_400_000 },
      schedule: [{ everyMs: 60_000 }],
    })
  })

  it('leaves alone what has no such unit or is not a number', () => {
    const table = { keyDelayMs: 300, memoryMb: 64, words: { S: 'x', fineDays: ['y'] }, on: true }
    expect(inBaseUnits(table)).toEqual(table)
    expect(inBaseUnits({ everyMinutes: undefined, empty: [] })).toEqual({ empty: [] })
  })
})
