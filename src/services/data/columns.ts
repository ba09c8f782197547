/** Where each field stands; undefined for a field that the table does not have. */
export type ColumnMap<F extends string> = Readonly<Partial<Record<F, number>>>

/** Field to header text, or to a column's number counted from 1. */
export type GivenColumns<F extends string> = {
  readonly [field in F]?: string | number | undefined
}

export type ColumnsResult<F extends string> =
  | { readonly ok: true; readonly columns: ColumnMap<F> }
  /** `unknownHeaders`: named by the map, but not in the file */
  | { readonly ok: false; readonly unknownHeaders: readonly string[] }

/**
 * Finds the columns by the texts of the header, a given map first.
 * @param fields each with the header texts by which it is recognised (folded as foldHeader does)
 */
export function findColumns<F extends string>(
  header: readonly string[],
  fields: Readonly<Record<F, readonly string[]>>,
  given?: GivenColumns<F>,
): ColumnsResult<F> {
  const folded = header.map(foldHeader)
  const columns: Partial<Record<F, number>> = {}
  const unknownHeaders: string[] = []
  const taken = new Set<number>()
  const names = Object.keys(fields) as F[]
  const take = (field: F, at: number): void => {
    columns[field] = at
    taken.add(at)
  }
  for (const field of names) {
    const wanted = given?.[field]
    if (wanted === undefined) continue
    const at = typeof wanted === 'number' ? wanted - 1 : folded.indexOf(foldHeader(wanted))
    if (at >= 0 && at < header.length) take(field, at)
    else unknownHeaders.push(String(wanted))
  }
  if (unknownHeaders.length > 0) return { ok: false, unknownHeaders }
  for (const field of names) {
    if (columns[field] !== undefined) continue
    for (const name of fields[field]) {
      const at = folded.findIndex((text, index) => text === name && !taken.has(index))
      if (at < 0) continue
      take(field, at)
      break
    }
  }
  return { ok: true, columns }
}

/** Lower case, letters and digits only, without brackets and a unit at the end: 'Output Freq. (MHz)' is 'outputfreq'. */
export function foldHeader(text: string): string {
  const folded = lettersAndDigits(text.replace(/[([][^()[\]]*[)\]]/g, ''))
  return folded.replace(/(.)[km]?hz$/, '$1')
}

/** The unit that a header ends with: 'Shift [kHz]' gives 'khz'. */
export function unitOfHeader(text: string): 'hz' | 'khz' | 'mhz' | undefined {
  return /([km]?hz)$/.exec(lettersAndDigits(text))?.[1] as 'hz' | 'khz' | 'mhz' | undefined
}

const lettersAndDigits = (text: string): string =>
  text
    .normalize('NFKD')
    .toLowerCase()
    .replace(/[^a-z0-9]/g, '')
