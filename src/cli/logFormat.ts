import type { StoredEvent } from '../store/events.js'

export const logFormats = ['text', 'csv', 'json'] as const
export type LogFormat = (typeof logFormats)[number]

const columns = ['time', 'kind', 'radio', 'station', 'reference', 'text', 'reason'] as const

/** What stands before the first event; '' for none. */
export const logHeader = (format: LogFormat): string =>
  format === 'csv' ? `${columns.join(',')}\n` : ''

/** One event as one line, with its end. */
export function logLine(event: StoredEvent, format: LogFormat): string {
  const time = new Date(event.atWallMs).toISOString()
  if (format === 'json') return `${JSON.stringify({ time, ...withoutTime(event) })}\n`
  if (format === 'csv') {
    const { kind, radio, station, reference, text, reason } = event
    const cells = [time, kind, radio ?? '', station ?? '', reference ?? '', text, reason ?? '']
    return `${cells.map((cell) => csvCell(String(cell))).join(',')}\n`
  }
  const where = `${(event.station ?? '-').padEnd(9)} ${(event.reference ?? '-').padEnd(5)}`
  const radio = event.radio === undefined ? '' : ` [radio ${event.radio}]`
  const reason = event.reason === undefined ? '' : ` (${event.reason})`
  const stamp = `${time.slice(0, 10)} ${time.slice(11, 19)}Z`
  return `${stamp} ${event.kind.padEnd(12)} ${where} ${printable(event.text)}${reason}${radio}\n`
}

function withoutTime(event: StoredEvent): Omit<StoredEvent, 'atWallMs'> {
  const { atWallMs: _, ...rest } = event
  return rest
}

/** A cell that a spreadsheet would take for a formula begins with an apostrophe: the text comes from strangers. */
function csvCell(text: string): string {
  const safe = /^[=+\-@\t\r]/.test(text) ? `'${text}` : text
  return /[",\n\r]/.test(safe) ? `"${safe.replaceAll('"', '""')}"` : safe
}

/** Control characters of a stranger's text must not reach a terminal. */
const printable = (text: string): string =>
  text.replace(/[\u0000-\u001f\u007f-\u009f]/g, (character) => {
    return `<0x${character.charCodeAt(0).toString(16).padStart(2, '0')}>`
  })
