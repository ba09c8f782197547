import { type AccessTone, isPlaced, type RepeaterEntry } from './entry.js'
import type { RepeaterField } from './headers.js'

/** The columns of a directory as this program writes it. */
const written = [
  'name',
  'call',
  'output',
  'offset',
  'tone',
  'latitude',
  'longitude',
  'mode',
  'use',
  'status',
] as const satisfies readonly RepeaterField[]

/**
 * A directory as a CSV file that parseRepeaters reads back to the same entries.
 * @param headers texts for the header where they are not to be the fields' names
 */
export function formatRepeaters(
  entries: readonly RepeaterEntry[],
  headers: Readonly<Partial<Record<RepeaterField, string>>> = {},
): string {
  const lines = [written.map((field) => headers[field] ?? field), ...entries.map(rowOf)]
  return lines.map((cells) => `${cells.map(cellOf).join(',')}\n`).join('')
}

function rowOf(entry: RepeaterEntry): string[] {
  const { offset, accessTone } = entry
  const sign = offset.sign < 0 ? '-' : '+'
  const shift = offset.shiftMHz === undefined ? '' : `${offset.shiftMHz} MHz`
  return [
    entry.name,
    entry.call,
    `${Number(entry.outputMHz.toFixed(6))} MHz`,
    offset.sign === 0 ? '' : `${sign}${shift}`,
    accessTone === undefined ? '' : toneCell(accessTone),
    isPlaced(entry) ? String(Number(entry.latitudeDeg.toFixed(6))) : '',
    isPlaced(entry) ? String(Number(entry.longitudeDeg.toFixed(6))) : '',
    entry.mode,
    entry.closed ? 'closed' : '',
    entry.offAir ? 'off air' : '',
  ]
}

function toneCell(tone: AccessTone): string {
  switch (tone.kind) {
    case 'tone':
      return String(tone.toneHz)
    case 'code':
      return `D${tone.code}${tone.inverted ? 'I' : ''}`
    case 'burst':
      return '1750'
    case 'digital':
      return tone.text
  }
}

const cellOf = (text: string): string =>
  /[",;\n\r]|^\s|\s$/.test(text) ? `"${text.replaceAll('"', '""')}"` : text
