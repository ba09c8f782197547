import { expect } from 'vitest'
import { formatPosition } from '../../src/aprs/format.js'
import type { findFrequency } from '../../src/aprs/frequency.js'
import type { AprsPayload } from '../../src/aprs/types.js'
import type { Result } from '../../src/ax25/result.js'

import { miles, near, type Pair, textOf } from './aprsExpectations.js'
export const value = <T>(result: Result<T>): T => {
  if (!result.ok) throw new Error(result.reason)
  return result.value
}

export const pick = <Kind extends AprsPayload['kind']>(
  payload: AprsPayload,
  ...kinds: Kind[]
): Extract<AprsPayload, { kind: Kind }> => {
  expect(kinds).toContain(payload.kind)
  return payload as Extract<AprsPayload, { kind: Kind }>
}

/** `112 07.74 W` */
export const degreesMinutes = (degrees: number, sides: string, digits = 2): string => {
  const hundredths = Math.round(Math.abs(degrees) * 60 * 10 ** digits)
  const whole = Math.floor(hundredths / 10 ** digits / 60)
  const minutes = (hundredths / 10 ** digits - whole * 60).toFixed(digits).padStart(digits + 3, '0')
  const wide = sides === 'EW' ? 3 : 2
  return `${String(whole).padStart(wide, '0')} ${minutes} ${degrees < 0 ? sides[1] : sides[0]}`
}

/** 2026-10-09 23:45 UTC, the day of the reference's examples in a year of ours. */
export const exampleWallMs = Date.UTC(2026, 9, 9, 23, 45)

export type Handler = (pair: Pair) => void

export const examplePlace = {
  latitudeDeg: 49 + 3.5 / 60,
  longitudeDeg: -(72 + 1.75 / 60),
  symbol: { table: '/', code: '>' },
  messaging: false,
}

export const examplePosition = (): string =>
  textOf(formatPosition({ ...examplePlace, atWallMs: exampleWallMs }))

type Frequency = NonNullable<ReturnType<typeof findFrequency>>['frequency']

export const frequencyChecks = {
  mhz: (f: Frequency, e: number) => expect(f.frequencyMhz).toBe(e),
  // C of the text: sent and needed to open the squelch; T: sent.
  ctcss_hz: (f: Frequency, e: number) => expect(f.tone).toEqual({ toneKind: 'ctcss', toneHz: e }),
  tone_hz: (f: Frequency, e: number) => expect(f.tone).toEqual({ toneKind: 'tone', toneHz: e }),
  dcs: (f: Frequency, e: string) => expect(f.tone).toEqual({ toneKind: 'dcs', dcsCode: e }),
  range_mi: (f: Frequency, e: number) => near(miles(f.rangeKm), e),
  range_km: (f: Frequency, e: number) => near(f.rangeKm, e),
  offset_mhz: (f: Frequency, e: number) => expect(f.offsetMhz).toBe(e),
  tone: (f: Frequency) => expect(f.tone).toEqual({ toneKind: 'off' }),
  offset: (f: Frequency) => expect(f.offsetMhz).toBe(0),
}
