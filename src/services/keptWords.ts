import { counted } from '../runtime/counted.js'
import type { TooLong } from './service.js'

const hourMs = 3_600_000

/** How long something is kept: '7 days', '12 hours'. */
export function keptWords(keptMs: number): string {
  const hours = Math.max(1, Math.round(keptMs / hourMs))
  return hours < 48 ? counted(hours, 'hour') : counted(Math.round(hours / 24), 'day')
}

/** The end of a refusal. */
export const tooLongWords = ({ excessCharacters, charactersMax }: TooLong): string =>
  `${counted(excessCharacters, 'character')} too long. At most ${charactersMax} with your call.`
