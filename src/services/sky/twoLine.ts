import { twoline2satrec } from 'satellite.js'
import { type Loaded, quoted, type Rejected, rejectedList } from '../data/rejected.js'
import { type ElementSet, elementSetOf } from './elementSet.js'

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
export function parseTwoLine(text: string): Loaded<ElementSet> {
  const lines = text.split(/\r\n|\n|\r/).map((line) => line.trimEnd())
  const entries: ElementSet[] = []
  const rejected = rejectedList()
  let name = ''
  for (let at = 0; at < lines.length; at++) {
    const line = lines[at]!
    if (/^1 [\dA-Z ]/.test(line) && line.length >= 60) {
      const second = lines[at + 1] ?? ''
      const fault = faultOf(line, second, at + 1)
      const set = fault ?? readSet(name, line, second, at + 1)
      if ('expected' in set) rejected.add(set)
      else entries.push(set)
      if (second.startsWith('2 ')) at++
      name = ''
    } else if (/^2 [\dA-Z ]{5}/.test(line) && line.length >= 60) {
      rejected.add({ line: at + 1, got: quoted(line), expected: 'line 1 of the set before it' })
      name = ''
    } else if (line !== '' && !line.startsWith('#')) {
      if (name !== '')
        rejected.add({ line: at, got: quoted(name), expected: 'lines 1 and 2 after a name' })
      name = line.replace(/^0 /, '').trim()
    }
  }
  if (name !== '')
    rejected.add({ line: lines.length, got: quoted(name), expected: 'lines 1 and 2 after a name' })
  return { entries, rejected: rejected.list, rejectedCount: rejected.count }
}

function readSet(name: string, first: string, second: string, line: number): ElementSet | Rejected {
  const set = elementSetOf(name, twoline2satrec(first, second))
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
  const figures = [
    first.slice(18, 32),
    second.slice(8, 16),
    second.slice(17, 25),
    second.slice(26, 33).replaceAll(' ', '0'),
    second.slice(34, 42),
    second.slice(43, 51),
    second.slice(52, 63),
  ]
  const bad = figures.find((figure) => !/^\s*\d+(\.\d*)?\s*$/.test(figure.replace(/^ *\./, '0.')))
  if (bad === undefined) return undefined
  return {
    line: figures.indexOf(bad) === 0 ? line : line + 1,
    got: quoted(bad),
    expected: 'a number',
  }
}
