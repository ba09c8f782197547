import { describeRejected, quoted, type Rejected } from '../../services/data/rejected.js'

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

/** Which column was taken for which field, with what stands in it first. */
export function columnLines(
  header: readonly string[],
  columns: Readonly<Partial<Record<string, number>>>,
  fields: readonly string[],
  firstRow: readonly string[],
): string[] {
  const lines = fields.map((field) => {
    const at = columns[field]
    if (at === undefined) return `  ${field.padEnd(10)} -`
    const shown = quoted(header[at] ?? '').padEnd(22)
    return `  ${field.padEnd(10)} ${shown} ${(firstRow[at] ?? '').trim()}`.trimEnd()
  })
  const taken = new Set(Object.values(columns))
  const unused = header.filter((_, at) => !taken.has(at))
  if (unused.length > 0) lines.push(`  not used   ${unused.map(quoted).join(', ')}`)
  return lines
}
