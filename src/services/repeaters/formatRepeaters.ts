import type { RepeaterEntry } from './entry.js'
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
  const tone = accessTone?.kind === 'tone' ? String(accessTone.toneHz) : `D${accessTone?.code}`
  return [
    entry.name,
    entry.call,
    `${Number(entry.outputMHz.toFixed(6))} MHz`,
    offset.sign === 0 ? '' : `${sign}${shift}`,
    accessTone === undefined ? '' : tone,
    String(Number(entry.latitudeDeg.toFixed(6))),
    String(Number(entry.longitudeDeg.toFixed(6))),
    entry.mode,
  ]
}

const cellOf = (text: string): string =>
  /[",;\n\r]|^\s|\s$/.test(text) ? `"${text.replaceAll('"', '""')}"` : text
