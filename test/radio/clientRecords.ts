import { formatLine } from '../../src/ax25/line.js'
import { parseConfig } from '../../src/config/load.js'
import type { ClientRecord, KissHostOptions } from '../../src/radio/kissHost.js'

/** A record that keeps everything as lines of text. */
export function collectedRecord(): { readonly record: ClientRecord; readonly lines: string[] } {
  const lines: string[] = []
  return {
    lines,
    record: {
      taken(frame, read) {
        const what = `${frame.client.name} ${formatLine(read)}`
        lines.push(`taken ${what}`)
        return (outcome) => {
          const why = outcome.kind === 'sent' ? '' : ` (${outcome.reason})`
          lines.push(`${outcome.kind} ${what}${why}`)
        }
      },
      refused: (frame, reason) => void lines.push(`refused ${frame.client.name}: ${reason}`),
      note: (client, text) => void lines.push(`${client.name} ${text}`),
    },
  }
}

const { kiss } = parseConfig('', 'defaults')

/** What clients may do unless a test is about that. */
export const clientDefaults: Pick<
  KissHostOptions,
  'ownCall' | 'localMaySend' | 'remoteMaySend' | 'fullDuplexAllowed' | 'bounds'
> = { ...kiss, bounds: kiss, ownCall: 'Q7RDG-10' }
