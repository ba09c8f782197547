import { twoline2satrec } from 'satellite.js'
import { linesOf } from '../data/lines.js'
import { isRejected, quoted, type Rejected } from '../data/rejected.js'
import { type ElementSet, elementSetOf } from './elementSet.js'
import { type Remarked, remarked, saysInvented } from './remarks.js'

/** Column 69: sum of the digits of columns 1 to 68, a minus sign counting 1, modulo 10. */
export function twoLineChecksum(line: string): number {
  let sum = 0
  for (const character of line.slice(0, 68)) {
    if (character >= '0' && character <= '9') sum += Number(character)
    else if (character === '-') sum += 1
  }
  return sum % 10
}

/**
 * Reads two-line element sets, each with or without a line of name before it (a leading '0 ' of that line is dropped).
 * @see Spacetrack Report No. 3; checked in test/published/sgp4.test.ts
 */
export function* twoLineSets(text: string): Generator<ElementSet | Rejected> {
  let name = ''
  /** line 1 of a set, until line 2 has come */
  let first: string | undefined
  let number = 0
  /** since the last set */
  let remarks = ''
  let isInvented = false
  const nameAlone = (line: number): Rejected => ({
    line,
    got: quoted(name),
    expected: 'lines 1 and 2 after a name',
  })
  for (const raw of linesOf(text)) {
    const line = raw.trimEnd()
    number++
    if (first !== undefined) {
      yield withRemarks(readSet(name, first, line, number - 1), remarked(remarks, isInvented))
      first = undefined
      name = ''
      remarks = ''
      if (line.startsWith('2 ')) continue
    }
    if (/^1 [\dA-Z ]/.test(line) && line.length >= 60) first = line
    else if (/^2 [\dA-Z ]{5}/.test(line) && line.length >= 60) {
      yield { line: number, got: quoted(line), expected: 'line 1 of the set before it' }
      name = ''
    } else if (line.startsWith('#')) {
      isInvented ||= saysInvented(line)
      remarks = `${remarks.slice(-remarkCharactersMax)} ${line.slice(0, remarkCharactersMax)}`
    } else if (line !== '') {
      if (name !== '') yield nameAlone(number - 1)
      name = line.replace(/^0 /, '').trim()
    }
  }
  if (first !== undefined) yield readSet(name, first, '', number)
  else if (name !== '') yield nameAlone(number)
}

/** Of more than that nobody reads a frequency. */
const remarkCharactersMax = 500

const withRemarks = (read: ElementSet | Rejected, more: Remarked): ElementSet | Rejected =>
  isRejected(read) ? read : { ...read, ...more }

function readSet(name: string, first: string, second: string, line: number): ElementSet | Rejected {
  const fault = faultOf(first, second, line)
  if (fault !== undefined) return fault
  const set = elementSetOf(name, () => twoline2satrec(first, second))
  return set ?? { line, got: quoted(first), expected: 'elements that SGP4 can start from' }
}

function faultOf(first: string, second: string, line: number): Rejected | undefined {
  if (!second.startsWith('2 '))
    return { line: line + 1, got: quoted(second), expected: 'line 2 of the set' }
  for (const [offset, one] of [first, second].entries()) {
    if (one.length < 69)
      return { line: line + offset, got: `${one.length} characters`, expected: '69' }
    const checksum = twoLineChecksum(one)
    if (one[68] !== String(checksum))
      return {
        line: line + offset,
        field: 'checksum',
        got: quoted(one[68]!),
        expected: `${checksum} by the line's other characters`,
      }
  }
  if (first.slice(2, 7) !== second.slice(2, 7))
    return {
      line: line + 1,
      field: 'catalog number',
      got: quoted(second.slice(2, 7)),
      expected: `${first.slice(2, 7)} as in line 1`,
    }
  for (const figure of figures) {
    const text = (figure.of === 1 ? first : second).slice(figure.from - 1, figure.to)
    if (!isRight(figure, text))
      return {
        line: line + figure.of - 1,
        field: figure.field,
        got: quoted(text),
        expected: figure.expected,
      }
  }
  return undefined
}

interface Figure {
  readonly field: string
  readonly of: 1 | 2
  /** columns, counted from 1 as in the report */
  readonly from: number
  readonly to: number
  readonly form: RegExp
  readonly read: (text: string) => number
  readonly min: number
  readonly max: number
  readonly expected: string
}

const isRight = ({ form, read, min, max }: Figure, text: string): boolean => {
  if (!form.test(text)) return false
  const value = read(text)
  return value >= min && value <= max
}

const plain = /^ *\d+(\.\d*)? *$|^ *\.\d+ *$/
/** `-12345-3` is -0.12345e-3 */
const withExponent = /^[ +-]\d{5}[+-]\d$/
const exponentValue = (text: string): number =>
  text.trim() === '' ? 0 : Number(`${text[0]!.trim()}0.${text.slice(1, -2)}e${text.slice(-2)}`)
/** Rates of the mean motion, which SGP4 does not use: some who make element sets by hand leave them blank. */
const orBlank = (form: RegExp): RegExp => new RegExp(`${form.source}|^ *$`)

/** Drag beyond this ends an orbit within the hour; the largest of a falling satellite is below 1 (from memory). */
const bstarMax = 10

const figure = (
  [of, from, to]: readonly [1 | 2, number, number],
  field: string,
  [min, max]: readonly [number, number],
  more: Partial<Figure> = {},
): Figure => ({
  ...{ of, from, to, field, min, max, form: plain, read: Number },
  expected: `a number from ${min} to ${max}`,
  ...more,
})

/** Every field with a number in it. */
const figures: readonly Figure[] = [
  figure([1, 19, 20], 'epoch year', [0, 99], { form: /^[ \d]\d$/, expected: 'two digits' }),
  figure([1, 21, 32], 'epoch day', [1, 366.99999999]),
  figure([1, 34, 43], 'mean motion, first rate', [-Infinity, Infinity], {
    form: orBlank(/^[ +-]* *\d?\.\d+ *$/),
    read: (text) => (text.trim() === '' ? 0 : Number(text.replaceAll(' ', ''))),
    expected: 'a number such as -.00001234',
  }),
  figure([1, 45, 52], 'mean motion, second rate', [-Infinity, Infinity], {
    form: orBlank(withExponent),
    read: exponentValue,
    expected: 'a number such as 12345-5',
  }),
  figure([1, 54, 61], 'drag term', [-bstarMax, bstarMax], {
    form: withExponent,
    read: exponentValue,
    expected: `a number such as 12345-3, from -${bstarMax} to ${bstarMax}`,
  }),
  figure([1, 63, 63], 'ephemeris type', [0, 9], {
    // from memory: sets of type 4 are made for another theory, SGP4-XP
    form: /^[ 0-35-9]$/,
    expected: '0, elements for SGP4',
  }),
  figure([2, 9, 16], 'inclination', [0, 180]),
  figure([2, 18, 25], 'right ascension of the node', [0, 360]),
  figure([2, 27, 33], 'eccentricity', [0, 9_999_999], {
    form: /^[ \d]{7}$/,
    read: (text) => Number(text.replaceAll(' ', '0')),
    expected: 'seven digits, those after the point',
  }),
  figure([2, 35, 42], 'argument of perigee', [0, 360]),
  figure([2, 44, 51], 'mean anomaly', [0, 360]),
  figure([2, 53, 63], 'mean motion', [0.0001, 20]),
]
