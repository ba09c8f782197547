import type { Wording } from '../words/air/wording.js'
import { counted } from './wordingOf.js'

const hourMs = 3_600_000

/** How long something is kept: '7 days', '12 hours'. */
export function keptWords(keptMs: number, wording: Wording): string {
  const hours = Math.max(1, Math.round(keptMs / hourMs))
  return hours < 48
    ? counted(hours, 'oneHour', 'manyHours', wording)
    : counted(Math.round(hours / 24), 'oneDay', 'manyDays', wording)
}
