import fc from 'fast-check'
import { describe, expect, it } from 'vitest'
import { parseAngle, parseDecimal } from '../../../src/services/data/figures.js'

describe('parseDecimal', () => {
  it.each([
    ['146.94', 146.94],
    ['146,94', 146.94],
    [' -0,6 ', -0.6],
    ['+5', 5],
    ['1 240.5', 1240.5],
    ['\u22120.6', -0.6],
    ['.5', 0.5],
  ])('%s is %d', (text, value) => {
    expect(parseDecimal(text)).toBe(value)
  })
  it.each(['', '-', '1.2.3', '1,2,3', 'abc', '12a', '1e5', 'NaN', '0x10'])('%s is none', (text) => {
    expect(parseDecimal(text)).toBeUndefined()
  })
})

describe('parseAngle', () => {
  it.each([
    ['45.25', 'NS', 45.25],
    ['-36,742', 'EW', -36.742],
    ['36.742 W', 'EW', -36.742],
    ['W 36.742', 'EW', -36.742],
    ["45°15'N", 'NS', 45.25],
    ['45° 15\' 36" S', 'NS', -45.26],
    ['45 15.6 N', 'NS', 45.26],
    ['45-15-36 N', 'NS', 45.26],
    ['0 S', 'NS', 0],
  ] as const)('%s', (text, letters, angle) => {
    expect(parseAngle(text, letters)).toBeCloseTo(angle, 9)
  })
  it.each([
    ['90.1', 'NS'],
    ['180.5', 'EW'],
    ['45 60 N', 'NS'],
    ['45.5 30 N', 'NS'],
    ['45 N', 'EW'],
    ['-45 S', 'NS'],
    ['N 45 N', 'NS'],
    ['', 'NS'],
    ['somewhere', 'NS'],
    ['45 1 2 3 N', 'NS'],
  ] as const)('%s is none', (text, letters) => {
    expect(parseAngle(text, letters)).toBeUndefined()
  })
  it('is within its range or nothing, for any text', () => {
    fc.assert(
      fc.property(fc.string({ unit: fc.constantFrom(...'0123456789.,- NSEW°\'"') }), (text) => {
        const angle = parseAngle(text, 'NS')
        expect(angle === undefined || Math.abs(angle) <= 90).toBe(true)
      }),
    )
  })
})
