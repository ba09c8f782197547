import fc from 'fast-check'
import { describe, expect, it } from 'vitest'
import type { RepeaterEntry } from '../../../src/services/repeaters/entry.js'
import { formatRepeaters } from '../../../src/services/repeaters/formatRepeaters.js'
import { parseRepeaters } from '../../../src/services/repeaters/parseRepeaters.js'

const word = fc
  .string({ unit: fc.constantFrom(...'Ab1éß ",;\'-+=/\n') })
  .map((text) => text.replace(/\s+/g, ' ').trim())
const rounded = (min: number, max: number, decimals: number) =>
  fc.double({ min, max, noNaN: true }).map((value) => Number(value.toFixed(decimals)) + 0)
const sign = fc.constantFrom(-1 as const, 1 as const)
const entry: fc.Arbitrary<RepeaterEntry> = fc.record(
  {
    name: word.filter((text) => text !== ''),
    call: word.map((text) => text.toUpperCase()),
    outputMHz: rounded(28, 10500, 6),
    offset: fc.oneof(
      fc.constant({ sign: 0 as const }),
      fc.record({ sign }),
      fc.record({ sign, shiftMHz: rounded(0.01, 100, 6) }),
    ),
    accessTone: fc.oneof(
      fc.record({ kind: fc.constant('tone' as const), toneHz: rounded(60, 260, 1) }),
      fc.record({
        kind: fc.constant('code' as const),
        code: fc.integer({ min: 0, max: 511 }).map((code) => code.toString(8).padStart(3, '0')),
      }),
    ),
    mode: fc.constantFrom('FM', 'D-STAR', 'FM/C4FM', 'DMR'),
    latitudeDeg: rounded(-90, 90, 6),
    longitudeDeg: rounded(-180, 180, 6),
  },
  { requiredKeys: ['name', 'call', 'outputMHz', 'offset', 'mode', 'latitudeDeg', 'longitudeDeg'] },
)

describe('formatRepeaters', () => {
  it('is read back to the same entries, whatever names and figures they have', () => {
    fc.assert(
      fc.property(fc.array(entry, { maxLength: 6 }), (entries) => {
        const parsed = parseRepeaters(formatRepeaters(entries))
        expect(parsed).toMatchObject({ ok: true, rejected: [] })
        expect(parsed.ok && parsed.entries).toEqual(entries)
      }),
      { numRuns: 500 },
    )
  })

  it('takes the headers that are wanted', () => {
    expect(formatRepeaters([], { name: 'Ort, Lage' })).toBe(
      '"Ort, Lage",call,output,offset,tone,latitude,longitude,mode,use,status\n',
    )
  })
})
