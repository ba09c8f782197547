import { mkdtempSync, rmSync, writeFileSync } from 'node:fs'
import { tmpdir } from 'node:os'
import { join } from 'node:path'
import { fileURLToPath } from 'node:url'
import fc from 'fast-check'
import { describe, expect, it } from 'vitest'
import { lookAt } from '../../../src/services/sky/look.js'
import {
  elementSets,
  formOfElements,
  loadElements,
  loadedElements,
} from '../../../src/services/sky/parseElements.js'
import { twoLineChecksum, twoLineSets } from '../../../src/services/sky/twoLine.js'
import { geoSky } from '../../published/geoSky.js'

const parseTwoLine = (text: string) => loadedElements(twoLineSets(text), 'two-line')
function parseElements(text: string) {
  const form = formOfElements(text)
  return loadedElements(elementSets(text, form), form)
}

interface TwoLines {
  readonly line1: string
  readonly line2: string
}
const cases = geoSky.sgp4.cases as TwoLines[]
const { line1, line2 } = cases[1]!

/** The same elements as the published two lines of 06251, written as an OMM by hand from its columns. */
const omm = {
  OBJECT_NAME: 'HARVESTER & CO',
  OBJECT_ID: '1962-025E',
  EPOCH: '2006-06-25T19:46:43.980096',
  MEAN_MOTION: 15.56387291,
  ECCENTRICITY: 0.0030035,
  INCLINATION: 58.0579,
  RA_OF_ASC_NODE: 54.0425,
  ARG_OF_PERICENTER: 139.1568,
  MEAN_ANOMALY: 221.1854,
  NORAD_CAT_ID: 6251,
  BSTAR: 0.00012808,
  MEAN_MOTION_DOT: 0.00008885,
  MEAN_MOTION_DDOT: 0,
}
const pairs = Object.entries(omm)
const kvn = [
  'CCSDS_OMM_VERS = 2.0',
  'COMMENT made by hand',
  'CENTER_NAME = EARTH',
  'REF_FRAME = TEME',
  'TIME_SYSTEM = UTC',
  'MEAN_ELEMENT_THEORY = SGP/SGP4',
  ...pairs.map(([key, value]) => `${key} = ${value}${key === 'INCLINATION' ? ' [deg]' : ''}`),
].join('\n')
const xml = `<?xml version="1.0"?>\n<ndm>\n<omm id="CCSDS_OMM_VERS" version="2.0">\n<body><segment><data>${pairs
  .map(([key, value]) => `<${key}>${String(value).replace('&', '&amp;')}</${key}>`)
  .join('')}</data></segment></body></omm>\n</ndm>`
const csv = `${pairs.map(([key]) => key).join(',')}\n${pairs.map(([, value]) => value).join(',')}\n`

describe('element sets', () => {
  it('reads two lines with a name, with a numbered name line, and without', () => {
    const [a, b, c] = cases as [TwoLines, TwoLines, TwoLines]
    const text = `FIRST ONE\n${a.line1}\n${a.line2}\r\n0 SECOND\n${b.line1}\n${b.line2}\n${c.line1}\n${c.line2}\n`
    const { entries, rejected } = parseTwoLine(text)
    expect(rejected).toEqual([])
    expect(entries.map((set) => [set.name, set.catalogNumber])).toEqual([
      ['FIRST ONE', '5'],
      ['SECOND', '6251'],
      ['28057', '28057'],
    ])
  })

  it.each([
    ['kvn', kvn],
    ['xml', xml],
    ['csv', csv],
    ['json', JSON.stringify([omm])],
    ['json', JSON.stringify(Object.fromEntries(pairs.map(([key, value]) => [key, String(value)])))],
  ])('reads an OMM as %s, alike to the same elements in two lines', (form, text) => {
    const parsed = parseElements(text)
    expect(parsed.rejected).toEqual([])
    expect(parsed.form).toBe(form)
    const [set] = parsed.entries
    expect(set).toMatchObject({ name: 'HARVESTER & CO', catalogNumber: '6251' })
    const [twin] = parseTwoLine(`${line1}\n${line2}`).entries
    expect(Math.abs(set!.epochWallMs - twin!.epochWallMs)).toBeLessThanOrEqual(1)
    const observer = { latitudeDeg: 45, longitudeDeg: -36, heightM: 0 }
    const wallMs = twin!.epochWallMs + 7_200_000
    const one = lookAt(set!, observer, wallMs)!
    const other = lookAt(twin!, observer, wallMs)!
    // The epochs agree to a millisecond, in which the satellite moves 8 m.
    expect(Math.abs(one.rangeKm - other.rangeKm)).toBeLessThan(0.02)
    expect(one.azimuthDeg).toBeCloseTo(other.azimuthDeg, 3)
  })

  it('takes a downlink from a remark of the set, in every form', () => {
    const sets = parseTwoLine(
      `# List of the club\nA\n# Downlink: 145,825 MHz FM\n${line1}\n${line2}\nB\n${cases[2]!.line1}\n${cases[2]!.line2}\n`,
    ).entries
    expect(sets.map(({ downlinkMHz }) => downlinkMHz)).toEqual([145.825, undefined])
    const kvn = Object.entries(omm).map(([key, value]) => `${key} = ${value}\n`)
    kvn.splice(1, 0, 'COMMENT downlink 435.310 MHz CW\n')
    const json = JSON.stringify([{ ...omm, COMMENT: 'downlink 435.310 MHz CW' }])
    const xml = `<omm><COMMENT>test</COMMENT><COMMENT>downlink 435.310</COMMENT>${Object.entries(
      omm,
    )
      .map(([key, value]) => `<${key}>${String(value).replace('&', '&amp;')}</${key}>`)
      .join('')}</omm>`
    for (const text of [kvn.join(''), json, xml])
      expect(parseElements(text).entries[0], text).toMatchObject({ downlinkMHz: 435.31 })
    // What is no amateur frequency is none.
    const far = parseTwoLine(`A\n# downlink 99999\n${line1}\n${line2}\n`).entries[0]
    expect(far).not.toHaveProperty('downlinkMHz')
  })

  it('marks all sets of a file of invented satellites, and none of another', () => {
    const sets = `A\n${line1}\n${line2}\n`
    expect(parseTwoLine(`# Invented satellites\n${sets}`).entries[0]).toMatchObject({
      isInvented: true,
    })
    expect(parseTwoLine(sets).entries[0]).not.toHaveProperty('isInvented')
  })

  it('takes an epoch by day of the year', () => {
    const { entries } = parseElements(JSON.stringify({ ...omm, EPOCH: '2006-176T19:46:43.980096' }))
    expect(entries[0]!.epochWallMs).toBeCloseTo(Date.UTC(2006, 5, 25, 19, 46, 43, 980), -1)
  })

  it('keeps the newer of two sets of one satellite', () => {
    const newer = { ...omm, EPOCH: '2006-06-26T00:00:00' }
    const { entries } = parseElements(JSON.stringify([newer, omm]))
    expect(entries).toHaveLength(1)
    expect(entries[0]!.epochWallMs).toBe(Date.UTC(2006, 5, 26))
  })

  it('knows the form by the first characters', () => {
    expect(formOfElements('\n\nNAME\n1 00005U')).toBe('two-line')
    expect(formOfElements('  [{}]')).toBe('json')
    expect(formOfElements('<?xml?>')).toBe('xml')
    expect(formOfElements('COMMENT x\nOBJECT_NAME = A')).toBe('kvn')
  })
})

describe('wrong element sets are named and the others used', () => {
  const wrongDigit = `${line1.slice(0, 40)}9${line1.slice(41)}`
  it.each([
    ['a wrong digit', `${wrongDigit}\n${line2}`, 1, 'checksum'],
    ['a missing second line', `${line1}\nNEXT\n`, 2, undefined],
    ['a first line cut short', `${line1.slice(0, 60)}\n${line2}`, 1, undefined],
    ['lines of two satellites', `${line1}\n${cases[0]!.line2}`, 2, 'catalog number'],
    ['a second line alone', `${line2}`, 1, undefined],
  ])('%s', (_, text, line, field) => {
    const { line1: a, line2: b } = cases[2]!
    const { entries, rejected } = parseTwoLine(`${text}\nGOOD\n${a}\n${b}\n`)
    expect(entries.map((set) => set.name)).toEqual(['GOOD'])
    expect(rejected[0]).toMatchObject({ line, ...(field === undefined ? {} : { field }) })
  })

  it.each([
    ['ECCENTRICITY', '1.2'],
    ['MEAN_MOTION', ''],
    ['EPOCH', 'yesterday'],
    ['EPOCH', '2006-13-25T19:46:43'],
    ['REF_FRAME', 'GCRF'],
    ['TIME_SYSTEM', 'TAI'],
    ['MEAN_ELEMENT_THEORY', 'DSST'],
    ['BSTAR', 'abc'],
  ])('an OMM with %s = "%s"', (field, value) => {
    const { entries, rejected } = parseElements(JSON.stringify([{ ...omm, [field]: value }, omm]))
    expect(entries).toHaveLength(1)
    expect(rejected[0]).toMatchObject({ line: 1, field })
  })

  it('finds the line of an OMM in every form', () => {
    const bad = { ...omm, INCLINATION: 200 }
    expect(parseElements(JSON.stringify([omm, bad], null, 1)).rejected[0]!.line).toBe(17)
    const inKvn = `${kvn}\n\n${kvn.replace('INCLINATION = 58', 'INCLINATION = 258')}`
    expect(parseElements(inKvn).rejected[0]!.line).toBe(21)
    expect(
      parseElements(`${csv}${csv.split('\n')[1]!.replace(',58.', ',258.')}`).rejected[0]!.line,
    ).toBe(3)
    expect(parseElements(xml.replace('>58.', '>258.')).rejected[0]!.line).toBe(3)
  })

  it('never throws, whatever a file holds', () => {
    const token = fc.constantFrom(
      line1,
      line2,
      'NAME',
      kvn,
      xml,
      '{',
      '[1]',
      'EPOCH = ',
      '<omm>',
      ',',
    )
    fc.assert(
      fc.property(fc.array(fc.oneof(token, fc.string()), { maxLength: 8 }), (parts) => {
        for (const text of [parts.join('\n'), parts.join('')]) {
          const { entries, rejectedCount } = parseElements(text)
          expect(entries.length + rejectedCount).toBeGreaterThanOrEqual(0)
        }
      }),
      { numRuns: 300 },
    )
  })
})

/** With other text in some columns (counted from 1), and the checksum that goes with it. */
const changed = (line: string, from: number, text: string): string => {
  const other = `${line.slice(0, from - 1)}${text}${line.slice(from - 1 + text.length)}`
  return `${other.slice(0, 68)}${twoLineChecksum(other)}`
}
/** What may be asked of a set that was taken: all of it is finite, or SGP4 says that it has no place. */
function expectSound(text: string): void {
  for (const set of parseElements(text).entries) {
    for (const value of Object.values(set))
      if (typeof value === 'number') expect(value).toSatisfy(Number.isFinite)
    for (const hours of [0, 1, 30]) {
      const observer = { latitudeDeg: 45, longitudeDeg: -36, heightM: 0 }
      const look = lookAt(set, observer, set.epochWallMs + hours * 3_600_000)
      for (const value of Object.values(look ?? {})) expect(value).toSatisfy(Number.isFinite)
    }
  }
}

describe('every figure of a set is read, or the set is refused with its line', () => {
  it('takes each published set', () => {
    for (const { line1, line2 } of [...cases, ...(geoSky.sgp4.error_cases as TwoLines[])]) {
      // some are printed with a wrong checksum
      const whole = [line1, line2].map((line) => changed(line, 3, line[2]!))
      const { entries, rejected } = parseTwoLine(whole.join('\n'))
      if (entries.length === 0) expect(rejected[0]!.expected).toMatch(/SGP4 can start/)
    }
  })

  it.each([
    [1, 19, 'x6', 'epoch year'],
    [1, 21, '367.00000000', 'epoch day'],
    [1, 21, '000.50000000', 'epoch day'],
    [1, 21, '17x.82412014', 'epoch day'],
    [1, 34, ' .000x8885', 'mean motion, first rate'],
    [1, 34, 'abcdefghij', 'mean motion, first rate'],
    [1, 45, ' 0000x-0', 'mean motion, second rate'],
    [1, 45, ' 00000 0', 'mean motion, second rate'],
    [1, 54, ' 1x808-3', 'drag term'],
    [1, 54, ' 12808 3', 'drag term'],
    [1, 54, '        ', 'drag term'],
    [1, 54, '   808-3', 'drag term'],
    [1, 54, ' 12808+3', 'drag term'],
    [1, 54, '-12808+2', 'drag term'],
    [1, 63, '4', 'ephemeris type'],
    [2, 9, '180.0001', 'inclination'],
    [2, 9, ' -1.0579', 'inclination'],
    [2, 18, '360.0001', 'right ascension of the node'],
    [2, 27, '00.0035', 'eccentricity'],
    [2, 35, ' 139.15x', 'argument of perigee'],
    [2, 44, '361.1854', 'mean anomaly'],
    [2, 53, '00.00009999', 'mean motion'],
    [2, 53, '20.00000001', 'mean motion'],
    [2, 53, '           ', 'mean motion'],
  ] as const)('line %i, columns from %i: "%s"', (of, from, text, field) => {
    const first = of === 1 ? changed(line1, from, text) : line1
    const second = of === 2 ? changed(line2, from, text) : line2
    const { entries, rejected } = parseTwoLine(`${first}\n${second}\n`)
    expect(entries).toEqual([])
    expect(rejected).toMatchObject([{ line: of, field }])
  })

  it.each([
    [1, 21, '001.00000000'],
    [1, 34, '          '],
    [1, 34, '-.00008885'],
    [1, 34, '+.00008885'],
    [1, 34, '0.00008885'],
    [1, 45, '        '],
    [1, 54, '+12808-3'],
    [1, 54, ' 12808-9'],
    [1, 54, '-12808-3'],
    [1, 54, ' 10000+1'],
    [2, 9, '  0.0000'],
    [2, 18, '360.0000'],
    [2, 27, '     35'],
    [2, 53, ' 1.00273790'],
  ] as const)('takes in line %i, from column %i: "%s"', (of, from, text) => {
    const first = of === 1 ? changed(line1, from, text) : line1
    const second = of === 2 ? changed(line2, from, text) : line2
    expect(parseTwoLine(`${first}\n${second}\n`).rejected).toEqual([])
    expectSound(`${first}\n${second}\n`)
  })

  it.each([
    ['BSTAR', '11'],
    ['BSTAR', '-10.1'],
    ['BSTAR', '0x10'],
    ['BSTAR', '1e400'],
    ['BSTAR', 'Infinity'],
    ['BSTAR', 'NaN'],
    ['MEAN_MOTION_DOT', '1e999'],
    ['MEAN_MOTION_DDOT', '--1'],
    ['MEAN_MOTION', '1e1.5'],
    ['INCLINATION', '5 8'],
    ['MEAN_ANOMALY', '360.1'],
    ['EPOCH', '2006-02-30T00:00:00'],
    ['EPOCH', '2006-366T00:00:00'],
    ['EPOCH', '2006-06-25T24:30:00'],
  ])('an OMM with %s = %s', (field, value) => {
    const { entries, rejected } = parseElements(JSON.stringify([{ ...omm, [field]: value }, omm]))
    expect(entries).toHaveLength(1)
    expect(rejected).toMatchObject([{ line: 1, field }])
  })

  it('whatever one character is changed to: nothing is taken that gives no number', () => {
    const characters = [...' 09.-+xE\u00e9']
    fc.assert(
      fc.property(
        fc.constantFrom(...cases),
        fc.constantFrom(1, 2),
        fc.integer({ min: 3, max: 68 }),
        fc.constantFrom(...characters),
        (one, of, column, character) => {
          const first = of === 1 ? changed(one.line1, column, character) : one.line1
          const second = of === 2 ? changed(one.line2, column, character) : one.line2
          expectSound(`${first}\n${second}\n`)
        },
      ),
      { numRuns: 1000 },
    )
  })

  it('a broken object of a JSON list costs itself alone, and what stands between is named', () => {
    const text = `[${JSON.stringify(omm)},\n{"A": },\n7, ${JSON.stringify({ ...omm, NORAD_CAT_ID: 7 })}\n{`
    const { entries, rejected } = parseElements(text)
    expect(entries.map(({ catalogNumber }) => catalogNumber)).toEqual(['6251', '7'])
    expect(rejected.map(({ line }) => line)).toEqual([2, 3, 4])
    expect(rejected[1]).toMatchObject({ got: '"7,"' })
  })
})

describe('a file without one right set', () => {
  it('is refused with the first line that is wrong and why', async () => {
    const folder = mkdtempSync(join(tmpdir(), 'elements-'))
    const file = join(folder, 'e.txt')
    writeFileSync(file, `A\n${line1.slice(0, 68)}0\n${line2}\n`)
    await expect(loadElements(file)).rejects.toThrow(
      'e.txt:2: checksum: got "0", expected 5 by the line\'s other characters; none of its element sets is right (1 wrong), so nothing was loaded',
    )
    writeFileSync(file, '# nothing\n')
    await expect(loadElements(file)).rejects.toThrow(/e\.txt: got none, expected element sets/)
    rmSync(folder, { recursive: true })
  })
})

describe('the sample', () => {
  it('is whole', async () => {
    const file = fileURLToPath(new URL('../../../samples/hilltop/elements.txt', import.meta.url))
    const { entries, rejected } = await loadElements(file)
    expect(rejected).toEqual([])
    expect(entries.map((set) => set.name)).toEqual([
      'FIELDLARK',
      'HARVESTER 2',
      'LONGSHADOW',
      'DRIFTWOOD 1',
    ])
  })
})
