import fc from 'fast-check'
import { describe, expect, it } from 'vitest'
import {
  formatTimestamp,
  parseMonthTimestamp,
  parseTimestamp,
  resolveTimestamp,
} from '../../src/aprs/timestamp.js'
import type { Timestamp } from '../../src/aprs/types.js'

const time = (text: string): Timestamp => {
  const parsed = text.length === 8 ? parseMonthTimestamp(text) : parseTimestamp(text)
  if (!parsed.ok) throw new Error(parsed.reason)
  return parsed.value
}

const resolved = (text: string, heard: string, offsetMinutes?: number): string | undefined => {
  const atMs = resolveTimestamp(time(text), Date.parse(heard), offsetMinutes)
  return atMs === undefined ? undefined : new Date(atMs).toISOString().slice(0, 19)
}

describe('the moment of a timestamp', () => {
  it.each([
    ['092345z', '2026-10-09T23:50:00Z', '2026-10-09T23:45:00'],
    // Heard after the month turned.
    ['312345z', '2026-11-01T00:10:00Z', '2026-10-31T23:45:00'],
    // Only the month before last has a 31st.
    ['312345z', '2026-12-01T00:10:00Z', '2026-10-31T23:45:00'],
    ['292345z', '2026-03-01T00:10:00Z', '2026-01-29T23:45:00'],
    // A sender whose clock is up to an hour fast.
    ['100020z', '2026-10-09T23:50:00Z', '2026-10-10T00:20:00'],
    ['234517h', '2026-10-10T00:01:00Z', '2026-10-09T23:45:17'],
    ['10092345', '2026-01-01T00:00:00Z', '2025-10-09T23:45:00'],
    ['02291200', '2026-03-01T00:00:00Z', '2024-02-29T12:00:00'],
  ])('%s heard at %s', (text, heard, wanted) => expect(resolved(text, heard)).toBe(wanted))

  it('local time by the offset given', () => {
    expect(resolved('092345/', '2026-10-09T22:00:00Z', 120)).toBe('2026-10-09T21:45:00')
  })

  it('a day that never is has no moment', () => {
    expect(resolved('02301200', '2026-03-01T00:00:00Z')).toBeUndefined()
  })

  it('what we write comes back to the minute, whenever it is heard within two weeks', () => {
    const moments = fc.integer({ min: Date.UTC(2024, 0), max: Date.UTC(2034, 0) })
    fc.assert(
      fc.property(moments, fc.nat(14 * 86_400_000), (atMs, laterMs) => {
        // 11 11:11 is the mark of permanent objects.
        const text = formatTimestamp(atMs)
        expect(resolveTimestamp(time(text), atMs + laterMs)).toBe(
          Math.floor(atMs / 60_000) * 60_000,
        )
      }),
      { numRuns: 2_000, seed: 6 },
    )
  })
})
