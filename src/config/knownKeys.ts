import { z } from 'zod'

/** The keys of the table at that place of a schema; none where there is no table. */
export function knownKeys(schema: z.ZodType, path: readonly PropertyKey[]): string[] {
  let inner: unknown = bare(schema)
  for (const step of path) {
    if (inner instanceof z.ZodArray) inner = bare(inner.element)
    else if (inner instanceof z.ZodRecord) inner = bare(inner.valueType)
    else if (inner instanceof z.ZodObject) inner = bare(inner.shape[step as string])
  }
  return inner instanceof z.ZodObject ? Object.keys(inner.shape) : []
}

/** The known key that somebody who wrote this is likely to have meant. */
export function nearestKey(written: string, known: readonly string[]): string | undefined {
  const lower = written.toLowerCase()
  const begun = known.find((key) => {
    const other = key.toLowerCase()
    return lower.length > 2 && (other.startsWith(lower) || lower.startsWith(other))
  })
  if (begun !== undefined) return begun
  const [nearest] = known
    .map((key) => ({ key, slips: slipsBetween(lower, key.toLowerCase()) }))
    .filter(({ key, slips }) => slips <= Math.min(2, Math.floor(key.length / 2)))
    .sort((a, b) => a.slips - b.slips)
  return nearest?.key
}

/** Without what zod wraps around it: defaults, optionality, pipes. */
function bare(schema: unknown): unknown {
  let inner = schema
  for (;;) {
    if (
      inner instanceof z.ZodDefault ||
      inner instanceof z.ZodPrefault ||
      inner instanceof z.ZodOptional
    )
      inner = inner.def.innerType
    else if (inner instanceof z.ZodPipe) inner = inner.def.in
    else return inner
  }
}

/** How many letters must be put in, taken out or changed (the distance of Levenshtein). */
function slipsBetween(one: string, other: string): number {
  let row = Array.from({ length: other.length + 1 }, (_, index) => index)
  for (const [line, letter] of [...one].entries()) {
    const next = [line + 1]
    for (let column = 1; column <= other.length; column++) {
      const change = row[column - 1]! + (letter === other[column - 1] ? 0 : 1)
      next.push(Math.min(change, row[column]! + 1, next[column - 1]! + 1))
    }
    row = next
  }
  return row.at(-1)!
}
