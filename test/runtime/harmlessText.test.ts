import { describe, expect, it } from 'vitest'
import {
  csvCell,
  harmlessJson,
  harmlessLines,
  harmlessText,
} from '../../src/runtime/harmlessText.js'

/** One of each kind that may not reach a terminal. */
const harmful: readonly [name: string, character: string, shown: string][] = [
  ['NUL', '\0', '%00'],
  ['bell', '\x07', '%07'],
  ['tabulator', '\t', '%09'],
  ['line feed', '\n', '%0A'],
  ['carriage return', '\r', '%0D'],
  ['escape', '\x1b', '%1B'],
  ['DEL', '\x7f', '%7F'],
  ['CSI of C1', '\x9b', '%C2%9B'],
  ['next line of C1', '\x85', '%C2%85'],
  ['Arabic letter mark', '\u061c', '%D8%9C'],
  ['left-to-right mark', '\u200e', '%E2%80%8E'],
  ['right-to-left mark', '\u200f', '%E2%80%8F'],
  ['line separator', '\u2028', '%E2%80%A8'],
  ['paragraph separator', '\u2029', '%E2%80%A9'],
  ['right-to-left override', '\u202e', '%E2%80%AE'],
  ['first strong isolate', '\u2068', '%E2%81%A8'],
  ['pop directional isolate', '\u2069', '%E2%81%A9'],
  ['half of a pair', '\ud83d', '%ED%A0%BD'],
  ['the other half', '\udca9', '%ED%B2%A9'],
]

describe('text of strangers', () => {
  it.each(harmful)('%s is written as its octets', (_name, character, shown) => {
    expect(harmlessText(`a${character}b`)).toBe(`a${shown}b`)
    // JSON has the same value, and nothing raw
    const json = harmlessJson(JSON.stringify({ text: `a${character}b` }))
    expect(JSON.parse(json)).toEqual({ text: `a${character}b` })
    expect(harmlessText(json)).toBe(json)
    // the reference for what has UTF-8
    if (!/[\ud800-\udfff]/.test(character)) expect(encodeURIComponent(character)).toBe(shown)
  })

  it('letters of every script, signs and pictures stay', () => {
    const plain = 'Grüße, привет, שלום, 山頂 🏔️ 50 % 100%25 é'
    expect(harmlessText(plain)).toBe(plain)
    expect(harmlessJson(JSON.stringify(plain))).toBe(JSON.stringify(plain))
  })

  it('every character at most once: twice is the same as once', () => {
    for (let code = 0; code < 0x10000; code++) {
      const once = harmlessText(String.fromCharCode(code))
      expect(harmlessText(once)).toBe(once)
    }
  })

  it('lines of ours keep their ends, and nothing else', () => {
    expect(harmlessLines('one\n  two\r\n\x1b[2J')).toBe('one\n  two%0D\n%1B[2J')
  })
})

describe('a cell of a table', () => {
  it.each([
    ['plain', 'plain'],
    ['=1+1', "'=1+1"],
    ['+1', "'+1"],
    ['-1', "'-1"],
    ['@SUM(A1)', "'@SUM(A1)"],
    ['  =1+1', "'  =1+1"],
    ['\u00a0=1', "'\u00a0=1"],
    ['\u3000\uff1d1', "'\u3000\uff1d1"],
    ['\t=1', "'%09=1"],
    ['\rx', "'%0Dx"],
    ['a,b', '"a,b"'],
    ['say "hut"', '"say ""hut"""'],
    ['=cmd|"/c calc"', '"\'=cmd|""/c calc"""'],
    ['two\nlines', 'two%0Alines'],
    ['5 - 3 = 2', '5 - 3 = 2'],
    ['', ''],
  ])('%j becomes %j', (text, cell) => {
    expect(csvCell(text)).toBe(cell)
  })
})
