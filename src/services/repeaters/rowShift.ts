import { bandOf } from '../../regulations/amateurBands.js'
import type { Rejected } from '../data/rejected.js'
import type { RepeaterEntry } from './entry.js'
import {
  type FrequencyUnit,
  frequencyExpected,
  parseFrequency,
  parseShift,
  type ShiftSaid,
  shiftExpected,
} from './frequency.js'
import type { RepeaterField } from './headers.js'
import type { RepeaterRow } from './row.js'
import type { Viewpoint } from './rowTone.js'
import { usualSign } from './usualShift.js'

/** What is known of the list as a whole when a row is read. */
export interface ListKnowledge {
  /** whose the columns 'transmit' and 'receive' are */
  readonly viewpoint: Viewpoint
  /** some row gives a sign: then a figure without one is above the output */
  readonly hasSigns: boolean
  readonly units: Readonly<Partial<Record<RepeaterField, FrequencyUnit>>>
}

export interface Frequencies {
  readonly outputMHz: number
  readonly offset: RepeaterEntry['offset']
}

/** A frequency that was given to the kilohertz may be this far off. */
const sameMHz = 0.006

/** Output and offset of a row. What lies outside the amateur bands is kept, with a warning. */
export function readFrequencies(row: RepeaterRow, list: ListKnowledge): Frequencies | Rejected {
  const read = agreedFrequencies(row, list)
  if (!('expected' in read)) warnOfBands(row, read, list)
  return read
}

function warnOfBands(row: RepeaterRow, { outputMHz, offset }: Frequencies, list: ListKnowledge) {
  const { outputField, inputField } = frequencyFields(row, list.viewpoint)
  const field = row.has(outputField) ? outputField : inputField!
  const outputBand = bandOf(outputMHz)
  if (outputBand === undefined) {
    row.warn(field, `${outputMHz} MHz lies in no amateur band that is known here: please look`)
    return
  }
  if (offset.sign === 0 || offset.shiftMHz === undefined) return
  const inputMHz = Number((outputMHz + offset.sign * offset.shiftMHz).toFixed(6))
  const inputBand = bandOf(inputMHz)
  const where =
    inputBand === undefined
      ? 'in no amateur band that is known here'
      : inputBand === outputBand
        ? undefined
        : 'in another band than the output'
  if (where === undefined) return
  const said = [inputField, 'offset'] as const
  const cause = said.find((one) => one !== undefined && row.has(one) && row.cell(one) !== '')
  row.warn(cause ?? field, `the input of ${inputMHz} MHz lies ${where}: please look`)
}

/** Output and offset of a row. Everything that it says of them has to agree. */
function agreedFrequencies(row: RepeaterRow, list: ListKnowledge): Frequencies | Rejected {
  const { outputField, inputField } = frequencyFields(row, list.viewpoint)
  if (!row.has(outputField) && inputField !== undefined) return fromInput(row, inputField, list)
  const output = readOutput(row.cell(outputField), list.units[outputField])
  if (output === undefined) return row.wrong(outputField, frequencyExpected)
  const { outputMHz } = output
  const said: { field: RepeaterField; shift: ShiftSaid }[] = []
  const mark = parseShift(output.mark, undefined, outputMHz)
  if (mark === undefined) return row.wrong(outputField, frequencyExpected)
  said.push({ field: outputField, shift: mark })
  for (const field of ['sign', 'offset'] as const) {
    const shift = parseShift(row.cell(field), list.units[field], outputMHz)
    if (shift === undefined) return row.wrong(field, shiftExpected)
    said.push({ field, shift })
  }
  if (inputField !== undefined && row.cell(inputField) !== '') {
    const shift = readInput(row.cell(inputField), list.units[inputField], outputMHz)
    if (shift === undefined) return row.wrong(inputField, frequencyExpected)
    said.push({ field: inputField, shift })
  }
  const offset = joined(row, outputMHz, said, list)
  return 'expected' in offset ? offset : { outputMHz, offset }
}

/** The only frequency of the list is that of the input: the offset leads from there to the output. */
function fromInput(
  row: RepeaterRow,
  inputField: RepeaterField,
  list: ListKnowledge,
): Frequencies | Rejected {
  const inputMHz = parseFrequency(row.cell(inputField), list.units[inputField])
  if (inputMHz === undefined) return row.wrong(inputField, frequencyExpected)
  const sign = parseShift(row.cell('sign'), undefined, inputMHz)
  const offset = parseShift(row.cell('offset'), list.units.offset, inputMHz)
  if (sign === undefined) return row.wrong('sign', shiftExpected)
  if (offset === undefined) return row.wrong('offset', shiftExpected)
  const side = offset.sign ?? sign.sign
  if (sign.sign !== undefined && sign.sign !== side)
    return row.wrong('sign', `what agrees with offset ${row.cell('offset')}`)
  if (side === 0) return { outputMHz: inputMHz, offset: { sign: 0 } }
  if (side === undefined || offset.shiftMHz === undefined)
    return row.wrong('offset', 'an offset with its sign, + or -')
  const outputMHz = Number((inputMHz - side * offset.shiftMHz).toFixed(6))
  return { outputMHz, offset: { sign: side, shiftMHz: offset.shiftMHz } }
}

/** Which columns hold what the repeater sends and hears. */
export function frequencyFields(
  row: Pick<RepeaterRow, 'has'>,
  viewpoint: Viewpoint,
): { readonly outputField: RepeaterField; readonly inputField: RepeaterField | undefined } {
  const [sends, hears] =
    viewpoint === 'user' ? (['receive', 'transmit'] as const) : (['transmit', 'receive'] as const)
  const outputField = row.has('output') || viewpoint === 'unknown' ? 'output' : sends
  const inputField = row.has('input') || viewpoint === 'unknown' ? 'input' : hears
  return { outputField, inputField }
}

/** '146.940', '146.940 MHz', and with a sign or an offset behind: '146.940-', '146.940 (-0.6)'. */
function readOutput(
  text: string,
  unit: FrequencyUnit | undefined,
): { outputMHz: number; mark: string } | undefined {
  const plain = parseFrequency(text, unit)
  if (plain !== undefined) return { outputMHz: plain, mark: '' }
  const found = /^([\d.,]+ ?(?:[kM]?Hz)?) ?\(?([-+−–][^)]*)\)?$/i.exec(text)
  if (found === null) return undefined
  const outputMHz = parseFrequency(found[1]!, unit)
  if (outputMHz === undefined) return undefined
  // '145.6-145.0' may be output and input, and is no offset of 145 kHz.
  const behind = parseFrequency(found[2]!.replace(/^[-+−–]/, ''), unit)
  if (behind !== undefined && /[.,]/.test(found[2]!) && Math.abs(behind - outputMHz) < 100)
    return undefined
  return { outputMHz, mark: found[2]! }
}

/** An input column may hold an offset instead. */
function readInput(
  text: string,
  unit: FrequencyUnit | undefined,
  outputMHz: number,
): ShiftSaid | undefined {
  const inputMHz = parseFrequency(text, unit)
  if (inputMHz !== undefined) return { inputMHz }
  return /^[-+−–]|^(simplex|-+|s)$|\d[-+]$/i.test(text)
    ? parseShift(text, unit, outputMHz)
    : undefined
}

interface Said {
  readonly field: RepeaterField
  readonly shift: ShiftSaid
}

function joined(
  row: RepeaterRow,
  outputMHz: number,
  said: readonly Said[],
  list: ListKnowledge,
): RepeaterEntry['offset'] | Rejected {
  const contradiction = (field: RepeaterField, other: RepeaterField): Rejected =>
    row.wrong(field, `what agrees with ${other} ${row.cell(other)} of output ${outputMHz} MHz`)
  let sign: { value: -1 | 0 | 1; field: RepeaterField } | undefined
  let shift: { value: number; field: RepeaterField } | undefined
  // A frequency says most, so that the others are held against it.
  const ordered = [...said].sort(
    (a, b) => Number(b.shift.inputMHz ?? 0) - Number(a.shift.inputMHz ?? 0),
  )
  for (const { field, shift: one } of ordered) {
    const from = one.inputMHz === undefined ? one : shiftOf(one.inputMHz - outputMHz)
    if (from.sign !== undefined) {
      if (sign !== undefined && sign.value !== from.sign) return contradiction(field, sign.field)
      sign ??= { value: from.sign, field }
    }
    if (from.shiftMHz !== undefined) {
      if (shift !== undefined && Math.abs(shift.value - from.shiftMHz) > sameMHz)
        return contradiction(field, shift.field)
      shift ??= { value: from.shiftMHz, field }
    }
  }
  if (sign?.value === 0 && shift !== undefined) return contradiction(shift.field, sign.field)
  if (sign !== undefined) {
    if (sign.value === 0) return { sign: 0 }
    if (shift !== undefined) return { sign: sign.value, shiftMHz: shift.value }
    row.warn(sign.field, 'how far is not said: told with the sign only')
    return { sign: sign.value }
  }
  if (shift === undefined) {
    if (row.has('input') && !row.has('offset'))
      row.warn('input', 'nothing is said of the input: told without an offset')
    return { sign: 0 }
  }
  return unsignedOffset(row, outputMHz, shift, list)
}

/** A figure without a sign is plus where the list writes minus signs in the same column, else what its part of the band has. */
function unsignedOffset(
  row: RepeaterRow,
  outputMHz: number,
  { value: shiftMHz, field }: { value: number; field: RepeaterField },
  list: ListKnowledge,
): RepeaterEntry['offset'] | Rejected {
  if (row.has('sign')) return row.wrong('sign', `+ or - beside the offset ${row.cell(field)}`)
  const usual = usualSign(outputMHz, shiftMHz)
  if (list.hasSigns) {
    if (usual === -1)
      return row.wrong(field, 'a sign: a plus is not usual here, and others have a minus')
    return { sign: 1, shiftMHz }
  }
  if (usual === undefined) return row.wrong(field, 'an offset with its sign, + or -')
  row.warn(field, `no sign in the whole list: taken as ${usual < 0 ? '-' : '+'}, as is usual there`)
  return { sign: usual, shiftMHz }
}

function shiftOf(megahertz: number): ShiftSaid {
  const shiftMHz = Number(Math.abs(megahertz).toFixed(6))
  return shiftMHz === 0 ? { sign: 0 } : { sign: megahertz < 0 ? -1 : 1, shiftMHz }
}
