import { describe, expect, it } from 'vitest'
import { formatMessage, formatObject, formatPosition, formatStatus } from '../../src/aprs/format.js'
import { decodeMicEDestination, decodeMicELongitude } from '../../src/aprs/micE.js'
import { duplicateWindowMs, netCycleMinutes, repeatPath } from '../../src/aprs/path.js'
import { type Address, formatPath, parseAddress, parsePath } from '../../src/ax25/address.js'
import { examplePlace, value } from './aprsExamples.js'
import { parseInfo, published } from './aprsExpectations.js'

/* The tables of aprs.json beside the pairs; each names the chapter of the APRS reference that it was read in. */

interface MicETables {
  dest_table: {
    char: string
    digit: string
    bit: number
    kind: string
    n_s: string
    offset: number | null
    w_e: string | null
  }[]
  message_table: Record<string, string>
  longitude_degrees: { lon: number; char: string; byte: number; offset: 0 | 100 }[]
  longitude_minutes: { min: number; char: string; byte: number }[]
  dest_decodes: {
    dest: string
    lat_digits: string
    message: string
    north: boolean
    lon_offset: number
    west: boolean
  }[]
}

const micE = published.mic_e as MicETables

describe('Mic-E tables (ch. 10)', () => {
  it.each(micE.dest_table)('destination character $char', (row) => {
    const digit = row.digit === 'space' ? ' ' : row.digit
    // In the first place: its digit and its status bit, where the others are 0.
    const first = value(decodeMicEDestination(`${row.char}00000`))
    expect(first.latitudeDigits[0]).toBe(digit)
    const status = { 0: 'Emergency', '1 standard': 'M3: Returning', '1 custom': 'C3: Custom-3' }
    expect(first.statusCode).toBe(status[row.kind as keyof typeof status])
    expect(row.bit).toBe(row.kind === '0' ? 0 : 1)

    const fourth = decodeMicEDestination(`000${row.char}00`)
    const fifth = decodeMicEDestination(`0000${row.char}0`)
    const sixth = decodeMicEDestination(`00000${row.char}`)
    if (row.n_s === 'not allowed in bytes 4-6') {
      expect([fourth.ok, fifth.ok, sixth.ok]).toEqual([false, false, false])
      return
    }
    expect(value(fourth).north).toBe(row.n_s === 'north')
    expect(value(fifth).longitudeOffset).toBe(row.offset)
    expect(value(sixth).west).toBe(row.w_e === 'west')
  })

  it.each(Object.entries(micE.message_table))('status bits %s', (bits, name) => {
    const standard = [...bits].map((bit) => (bit === '1' ? 'P' : '0')).join('')
    const custom = [...bits].map((bit) => (bit === '1' ? 'A' : '0')).join('')
    const code = value(decodeMicEDestination(`${standard}000`)).statusCode
    expect(code).toBe(name === 'Emergency' ? name : name.replace(/^(\d) /, 'M$1: '))
    const customName = name.replace(/^(\d) .*/, 'C$1: Custom-$1')
    expect(value(decodeMicEDestination(`${custom}000`)).statusCode).toBe(customName)
  })

  it.each(micE.longitude_degrees)(
    'longitude $lon from octet $byte',
    ({ lon, char, byte, offset }) => {
      expect(char.charCodeAt(0)).toBe(byte)
      expect(value(decodeMicELongitude(`${char}X\x1c`, offset))).toBe(lon)
    },
  )

  it.each(micE.longitude_minutes)(
    'longitude minutes $min from octet $byte',
    ({ min, char, byte }) => {
      expect(char.charCodeAt(0)).toBe(byte)
      // Octet 38 is 10 degrees without offset.
      expect(value(decodeMicELongitude(`&${char}\x1c`, 0))).toBeCloseTo(10 + min / 60, 9)
    },
  )

  it.each(micE.dest_decodes)('destination $dest', (row) => {
    expect(value(decodeMicEDestination(row.dest))).toMatchObject({
      latitudeDigits: row.lat_digits,
      statusCode: row.message,
      north: row.north,
      longitudeOffset: row.lon_offset,
      west: row.west,
    })
  })
})

interface Paths {
  rules: string[]
  examples: { heard: string; digi: string; sent: string | null }[]
  net_cycle_minutes: Record<string, number>
}

const paths = published.paths as Paths
const address = (text: string): Address => value(parseAddress(text))

describe('paths (ch. 2, the n-N paradigm)', () => {
  it.each(paths.examples)('$digi hears "$heard"', ({ heard, digi, sent }) => {
    const result = repeatPath(value(parsePath(heard)), address(digi))
    if (sent === null) expect(result.repeat).toBe(false)
    else if (sent.startsWith('no ninth')) {
      // The text gives no rule here; ours replaces the alias.
      expect(result).toMatchObject({ repeat: true })
      const path = result.repeat ? result.path : []
      expect(path).toHaveLength(8)
      expect(formatPath(path)).toBe(`A1A,B1B,C1C,D1D,E1E,F1F,G1G,${digi}*`)
    } else expect(result.repeat && formatPath(result.path)).toBe(sent)
  })

  it('an alias with N = 0 is not repeated (rules)', () => {
    expect(paths.rules).toContain('alias with N=0: do not repeat')
    expect(repeatPath(value(parsePath('WIDE3')), address('DI6GI')).repeat).toBe(false)
  })

  it.each(['RELAY', 'WIDE', 'TRACE'])('obsolete %s is not repeated (rules)', (alias) => {
    expect(repeatPath(value(parsePath(alias)), address('DI6GI')).repeat).toBe(false)
  })

  it('WIDE2-2 and WIDE2-1,WIDE2-1 ask for the same (equivalence)', () => {
    const one = value(parsePath('WIDE2-2'))
    const two = value(parsePath('WIDE2-1,WIDE2-1'))
    expect(netCycleMinutes(one)).toBe(netCycleMinutes(two))
  })

  it('net cycle times', () => {
    const minutes = ['', 'WIDE1-1', 'WIDE1-1,WIDE2-1', 'WIDE3-3'].map((path) =>
      netCycleMinutes(value(parsePath(path))),
    )
    expect(minutes).toEqual(Object.values(paths.net_cycle_minutes))
  })

  it('duplicates within about 28 s (rules)', () => {
    expect(paths.rules.join(' ')).toContain('28 s')
    expect(duplicateWindowMs).toBe(28_000)
  })
})

const limits = published.limits as { what: string; value: unknown }[]
const limit = (what: string): number => {
  const row = limits.find((entry) => entry.what === what)
  if (row === undefined) throw new Error(`no limit '${what}'`)
  return Number(String(row.value).replace(/^\d+-/, ''))
}

describe('limits', () => {
  const goes = (send: () => Uint8Array): number => send().length
  const throws = (send: () => Uint8Array): void => expect(send).toThrow(RangeError)
  const position =
    (octetCount: number, more: object = {}) =>
    () =>
      formatPosition({ ...examplePlace, comment: 'x'.repeat(octetCount), ...more })
  const message =
    (octetCount: number, more: object = {}) =>
    () =>
      formatMessage({ addressee: 'N0CALL', text: 'x'.repeat(octetCount), ...more })

  it('comments (ch. 8, 9)', () => {
    const rows: [string, object][] = [
      ['comment after symbol, no extension', {}],
      ['comment with extension', { courseDeg: 88, speedKmh: 60 }],
      ['comment after compressed position', { compressed: true }],
    ]
    for (const [what, more] of rows) {
      goes(position(limit(what), more))
      throws(position(limit(what) + 1, more))
    }
  })

  it('object names are nine characters on the air (ch. 11)', () => {
    const object = (name: string) => () =>
      formatObject({ ...examplePlace, name, live: true, permanent: true })
    expect(new TextDecoder().decode(object('A')()).slice(0, 11)).toBe(';A        *')
    goes(object('x'.repeat(9)))
    throws(object('x'.repeat(10)))
    throws(object(''))
  })

  it('item names have 3 to 9 characters, no ! or _ (ch. 11)', () => {
    const kinds = [2, 3, 9, 10].map(
      (count) => parseInfo(`)${'x'.repeat(count)}!4903.50N/07201.75WA`).kind,
    )
    expect(kinds).toEqual(['unreadable', 'item', 'item', 'unreadable'])
    expect(limit('item name')).toBeNaN()
  })

  it('message and bulletin text, addressee, number (ch. 14)', () => {
    goes(message(limit('message text')))
    throws(message(limit('message text') + 1))
    expect(limit('bulletin text')).toBe(limit('message text'))
    throws(message(1, { addressee: 'N0CALL-123' }))
    goes(message(1, { number: '12345' }))
    throws(message(1, { number: '123456' }))
    throws(message(1, { number: '1-2' }))
    throws(message(1, { number: '' }))
  })

  it('forbidden in message text: all three of 1.0.1, as 1.2 allows two of them (ch. 14)', () => {
    for (const character of '|~{') {
      throws(() => formatMessage({ addressee: 'N0CALL', text: `a${character}b` }))
    }
  })

  it('status text (ch. 16)', () => {
    goes(() => formatStatus({ text: 'x'.repeat(62) }))
    throws(() => formatStatus({ text: 'x'.repeat(63) }))
    goes(() => formatStatus({ text: 'x'.repeat(55), atWallMs: 0 }))
    throws(() => formatStatus({ text: 'x'.repeat(56), atWallMs: 0 }))
    expect(limits.find((row) => row.what === 'status text')?.value).toBe(
      '62 without time, 55 with time',
    )
  })

  it('Mic-E needs nine octets (ch. 10), an information field one (ch. 3)', () => {
    expect(parseInfo('`(_fn"Oj', 'S32UVT').kind).toBe('unreadable')
    expect(parseInfo('`(_fn"Oj/', 'S32UVT').kind).toBe('micE')
    expect(parseInfo('').kind).toBe('unreadable')
  })

  it('no line end is sent, and one that comes is dropped (ch. 5)', () => {
    throws(() => formatMessage({ addressee: 'N0CALL', text: 'line\r' }))
    expect(parseInfo(':N0CALL   :line\r\n')).toMatchObject({ text: 'line' })
  })
})

describe('data type identifiers (ch. 5)', () => {
  const place = '4903.50N/07201.75W-'
  const examples: Record<string, [string, string]> = {
    '!': [`!${place}`, 'position'],
    '=': [`=${place}`, 'position'],
    '/': [`/092345z${place}`, 'position'],
    '@': [`@092345z${place}`, 'position'],
    $: ['$GPGLL,2554.459,N,08020.187,W,154027.281,A', 'nmea'],
    "'": [`'(_fn"Oj/`, 'micE'],
    '`': ['`(_fn"Oj/', 'micE'],
    ')': [`)ITEM!${place}`, 'item'],
    ';': [`;OBJECT   *092345z${place}`, 'object'],
    ':': [':N0CALL   :hello', 'message'],
    '>': ['>status', 'status'],
    '?': ['?APRS?', 'query'],
    '<': ['<MSG_CNT=1', 'capabilities'],
    T: ['T#005,199,000,255,073,123,01101001', 'telemetry'],
    _: ['_10090556c220s004g005t077', 'weather'],
    '}': ['}N0CALL>APZ001,TCPIP,N1CALL*:>status', 'thirdParty'],
    '{': ['{Q1data', 'userDefined'],
    ',': [',test', 'test'],
    '[': ['[IO91SX]', 'locator'],
    '#': ['#50B7500820082', 'rawWeather'],
    '*': ['*7007600000000', 'rawWeather'],
    '0x1c': ['\x1c(_fn"Oj/', 'micE'],
    '0x1d': ['\x1d(_fn"Oj/', 'micE'],
  }

  it.each(Object.entries(published.data_type_identifiers as object))('%s: %s', (identifier) => {
    const [info, kind] = examples[identifier]!
    expect(parseInfo(info, 'S32UVT').kind).toBe(kind)
  })

  it('! may stand later, up to the 40th character (data_type_source)', () => {
    expect(parseInfo(`old digipeater text ${'!'}${place}`).kind).toBe('position')
    expect(parseInfo(`${'x'.repeat(39)}!${place}`).kind).toBe('position')
    expect(parseInfo(`${'x'.repeat(40)}!${place}`).kind).toBe('unreadable')
  })
})
