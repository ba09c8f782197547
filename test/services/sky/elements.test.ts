import { fileURLToPath } from 'node:url'
import fc from 'fast-check'
import { describe, expect, it } from 'vitest'
import { lookAt } from '../../../src/services/sky/look.js'
import {
  formOfElements,
  loadElements,
  parseElements,
} from '../../../src/services/sky/parseElements.js'
import { parseTwoLine } from '../../../src/services/sky/twoLine.js'
import { geoSky } from '../../published/geoSky.js'

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
