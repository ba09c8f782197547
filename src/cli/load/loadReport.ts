import {
  describeRejected,
  describeWarned,
  quoted,
  type Rejected,
  type Warned,
} from '../../services/data/rejected.js'

const rejectedShown = 20

/** '1 card', '7 cards'. @param what in the singular */
export const countWords = (count: number, what: string): string =>
  `${count} ${what}${count === 1 ? '' : 's'}`

/** What was right and what is left out, a line each. @param what in the singular */
export function countLines(
  what: string,
  file: string,
  loaded: {
    readonly entries: readonly unknown[]
    readonly rejected: readonly (Rejected & { readonly file?: string })[]
    readonly rejectedCount: number
  },
): string[] {
  const { entries, rejected, rejectedCount } = loaded
  const leftOut = rejectedCount === 0 ? '' : `, ${rejectedCount} left out:`
  const lines = [`${countWords(entries.length, what)}${leftOut}`]
  for (const one of rejected.slice(0, rejectedShown))
    lines.push(`  ${describeRejected(one.file ?? file, one)}`)
  const more = rejectedCount - Math.min(rejected.length, rejectedShown)
  if (more > 0) lines.push(`  and ${more} more`)
  return lines
}

/** What is used with a doubt, a line each. */
export function warnedLines(
  file: string,
  { warned, warnedCount }: { readonly warned: readonly Warned[]; readonly warnedCount: number },
): string[] {
  if (warnedCount === 0) return []
  const lines = [`${countWords(warnedCount, 'warning')}, the repeaters are kept:`]
  for (const one of warned.slice(0, rejectedShown)) lines.push(`  ${describeWarned(file, one)}`)
  const more = warnedCount - Math.min(warned.length, rejectedShown)
  if (more > 0) lines.push(`  and ${more} more`)
  return lines
}

const reasonsShown = 10

/** How many for each reason, the most frequent first. */
export function reasonLines(
  title: string,
  reasons: readonly { readonly reason: string; readonly count: number }[],
): string[] {
  if (reasons.length === 0) return []
  const lines = reasons.slice(0, reasonsShown).map(({ reason, count }) => `  ${count} x ${reason}`)
  if (reasons.length > reasonsShown)
    lines.push(`  and ${reasons.length - reasonsShown} other reasons`)
  return [`${title} by reason:`, ...lines]
}

/** What each column was taken for, with what stands in it first. */
export function columnLines(
  header: readonly string[],
  meanings: readonly (string | undefined)[],
  firstCells: readonly string[],
): string[] {
  return header.map((text, at) => {
    const shown = (text.trim() === '' ? '(no header)' : quoted(text)).padEnd(22)
    const cell = (firstCells[at] ?? '').trim().slice(0, 40)
    return `  ${shown} ${meanings[at] ?? 'not used'}${cell === '' ? '' : `: ${cell}`}`
  })
}
