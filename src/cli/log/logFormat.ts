import { csvCell, harmlessJson, harmlessText } from '../../runtime/harmlessText.js'
import { nothingAsked, type StoredEvent } from '../../store/events.js'

export const logFormats = ['text', 'csv', 'json'] as const
export type LogFormat = (typeof logFormats)[number]

const columns = ['time', 'kind', 'radio', 'station', 'reference', 'text', 'reason'] as const

/** What stands before the first event; '' for none. */
export const logHeader = (format: LogFormat): string =>
  format === 'csv' ? `${columns.join(',')}\n` : ''

/** One event as one line, with its end. */
export function logLine(event: StoredEvent, format: LogFormat): string {
  const time = new Date(event.atWallMs).toISOString()
  if (format === 'json') return `${harmlessJson(JSON.stringify({ time, ...withoutTime(event) }))}\n`
  if (format === 'csv') {
    const { kind, radio, station, reference, text, reason } = event
    const cells = [time, kind, radio ?? '', station ?? '', reference ?? '', text, reason ?? '']
    return `${cells.map((cell) => csvCell(String(cell))).join(',')}\n`
  }
  const where = `${(event.station ?? '-').padEnd(9)} ${(event.reference ?? '-').padEnd(5)}`
  const radio = event.radio === undefined ? '' : ` [radio ${event.radio}]`
  const isTold = event.reason !== undefined && event.reason !== nothingAsked
  const reason = isTold ? ` (${event.reason})` : ''
  const stamp = `${time.slice(0, 10)} ${time.slice(11, 19)}Z`
  const line = `${stamp} ${event.kind.padEnd(12)} ${where} ${event.text}${reason}${radio}`
  return `${harmlessText(line)}\n`
}

function withoutTime(event: StoredEvent): Omit<StoredEvent, 'atWallMs'> {
  const { atWallMs: _, ...rest } = event
  return rest
}
