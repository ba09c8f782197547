/**
 * People write days, minutes, kilometres and percent; the parts of the program work in milliseconds, metres and shares of 1.
 * A number's key ends in its unit, so both are found here, once: `keepDays: 7` becomes `keepMs: 604800000`.
 */
const units: readonly (readonly [written: string, base: string, (value: number) => number])[] = [
  ['Days', 'Ms', (days) => days * 86_400_000],
  ['Hours', 'Ms', (hours) => hours * 3_600_000],
  ['Minutes', 'Ms', (minutes) => minutes * 60_000],
  ['S', 'Ms', (seconds) => seconds * 1000],
  ['Km', 'M', (km) => km * 1000],
  ['Percent', 'Share', (percent) => percent / 100],
]

type BaseName<Key> = Key extends `${infer Name}${'Days' | 'Hours' | 'Minutes' | 'S'}`
  ? `${Name}Ms`
  : Key extends `${infer Name}Km`
    ? `${Name}M`
    : Key extends `${infer Name}Percent`
      ? `${Name}Share`
      : Key

/** A table of the configuration with its numbers in base units, also those of its inner tables. */
export type InBaseUnits<Table> = Table extends readonly (infer Item)[]
  ? readonly InBaseUnits<Item>[]
  : Table extends object
    ? {
        readonly [Key in keyof Table as NonNullable<Table[Key]> extends number | readonly number[]
          ? BaseName<Key>
          : Key]: InBaseUnits<Table[Key]>
      }
    : Table

export function inBaseUnits<Table extends object>(table: Table): InBaseUnits<Table> {
  const entries = Object.entries(table).flatMap(([key, value]) => {
    // A number that is not there has no key in base units either.
    if (value === undefined) return []
    const unit = isNumeric(value) ? units.find(([written]) => key.endsWith(written)) : undefined
    if (unit === undefined) return [[key, inside(value)]]
    const [written, base, convert] = unit
    const name = key.slice(0, -written.length) + base
    return [[name, typeof value === 'number' ? convert(value) : value.map(convert)]]
  })
  return Object.fromEntries(entries)
}

const isNumeric = (value: unknown): boolean =>
  typeof value === 'number' ||
  (Array.isArray(value) && value.every((item) => typeof item === 'number'))

function inside(value: unknown): unknown {
  if (Array.isArray(value)) return value.map(inside)
  return typeof value === 'object' && value !== null ? inBaseUnits(value) : value
}
