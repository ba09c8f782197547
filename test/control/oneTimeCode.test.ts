import { describe, expect, it } from 'vitest'
import {
  counterCode,
  findCode,
  formatBase32,
  parseBase32,
  timeCounter,
} from '../../src/control/oneTimeCode.js'

const ascii = (text: string): Uint8Array => new TextEncoder().encode(text)

// RFC 4226, appendix D: secret, counter and decimal value before it is cut to six digits (values from memory of the text;
// an HMAC that is wrong anywhere would meet none of them).
const secret = ascii('12345678901234567890')
const appendixD = [
  1284755224, 1094287082, 137359152, 1726969429, 1640338314, 868254676, 1918287922, 82162583,
  673399871, 645520489,
]

// RFC 6238, appendix B: seconds since 1970, and the eight digits for each hash (values from memory of the text). The
// secrets of the longer hashes are the same digits, repeated to 32 and 64 octets (erratum 2866).
const appendixB = [
  [59, '94287082', '46119246', '90693936'],
  [1111111109, '07081804', '68084774', '25091201'],
  [1111111111, '14050471', '67062674', '99943326'],
  [1234567890, '89005924', '91819424', '93441116'],
  [2000000000, '69279037', '90698825', '38618901'],
  [20000000000, '65353130', '77737706', '47863826'],
] as const

describe('codes by a counter (RFC 4226)', () => {
  it.each(appendixD.map((value, counter) => [counter, value] as const))(
    'counter %i',
    (counter, value) => {
      for (const digits of [6, 7, 8]) {
        const wanted = String(value % 10 ** digits).padStart(digits, '0')
        expect(counterCode(secret, counter, digits)).toBe(wanted)
      }
    },
  )

  it('counters beyond 32 bits count', () => {
    expect(counterCode(secret, 2 ** 32, 8)).not.toBe(counterCode(secret, 0, 8))
  })

  it.each([
    [-1, 6],
    [0.5, 6],
    [2 ** 53, 6],
    [0, 5],
    [0, 9],
  ])('counter %d with %d digits is a mistake of the caller', (counter, digits) => {
    expect(() => counterCode(secret, counter, digits)).toThrow(RangeError)
  })
})

describe('codes by the clock (RFC 6238)', () => {
  it.each(appendixB)('%i s', (seconds, ...codes) => {
    const hashes = [
      ['sha1', 20],
      ['sha256', 32],
      ['sha512', 64],
    ] as const
    for (const [index, [hash, length]] of hashes.entries()) {
      const long = ascii('1234567890'.repeat(7).slice(0, length))
      expect(counterCode(long, timeCounter(seconds * 1000), 8, hash)).toBe(codes[index])
    }
  })
})

describe('a code within the window', () => {
  it('is found at its first and last place, and not one beside them', () => {
    const at = (counter: number): string => counterCode(secret, counter, 8)
    expect(findCode(secret, at(100), 100, 20)).toBe(100)
    expect(findCode(secret, at(119), 100, 20)).toBe(119)
    expect(findCode(secret, at(120), 100, 20)).toBeUndefined()
    expect(findCode(secret, at(99), 100, 20)).toBeUndefined()
  })

  it.each(['', '12345', '123456789', '12a456', '٣٤٥٦٧٨'])('"%s" is no code', (code) => {
    expect(findCode(secret, code, 0, 20)).toBeUndefined()
  })
})

describe('base32 (RFC 4648, section 10)', () => {
  it.each([
    ['', ''],
    ['f', 'MY'],
    ['fo', 'MZXQ'],
    ['foo', 'MZXW6'],
    ['foob', 'MZXW6YQ'],
    ['fooba', 'MZXW6YTB'],
    ['foobar', 'MZXW6YTBOI'],
  ])('"%s" is %s', (text, base32) => {
    expect(formatBase32(ascii(text))).toBe(base32)
    expect(parseBase32(base32)).toEqual(ascii(text))
    expect(parseBase32(`${base32.toLowerCase()}==`)).toEqual(ascii(text))
  })

  it('says of other letters that they are none', () => {
    expect(parseBase32('MZX1')).toBeUndefined()
  })
})
