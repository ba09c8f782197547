import fc from 'fast-check'
import { describe, expect, it } from 'vitest'
import { formatTimestamp, parseTimestamp } from '../../src/aprs/timestamp.js'

describe('a timestamp', () => {
  it('that we write comes back to the minute', () => {
    const moments = fc.integer({ min: Date.UTC(2024, 0), max: Date.UTC(2034, 0) })
    fc.assert(
      fc.property(moments, (atMs) => {
        const date = new Date(atMs)
        const text = formatTimestamp(atMs)
        expect(parseTimestamp(text)).toEqual({
          ok: true,
          value: {
            form: 'dayHoursMinutes',
            day: date.getUTCDate(),
            hours: date.getUTCHours(),
            minutes: date.getUTCMinutes(),
            zone: 'UTC',
            // 11 11:11 is the mark of permanent objects.
            ...(text === '111111z' ? { permanent: true } : {}),
          },
        })
      }),
      { numRuns: 2_000, seed: 6 },
    )
  })
})
