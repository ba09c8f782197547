/** Rows of the spectrum, as they come: a ring of pixels for each radio, a row an eighth of a second. */
export const rowBins = 144
export const rowMs = 125
export const rowsKept = 1024

export interface Rows {
  /** octets as they came, rowBins of them a row */
  readonly levels: Uint8Array
  /** of the newest row */
  lastIndex: number
  lastWallMs: number
  /** the middle of each row's levels */
  readonly middles: Uint8Array
}

const all = new Map<number, Rows>()

export const rowsOf = (radio: number): Rows | undefined => all.get(radio)

export function pushRow(radio: number, atWallMs: number, text: string): void {
  const octets = Uint8Array.from(atob(text), (character) => character.charCodeAt(0))
  let rows = all.get(radio)
  if (rows === undefined) {
    rows = {
      ...{ levels: new Uint8Array(rowBins * rowsKept), lastIndex: 0, lastWallMs: atWallMs - rowMs },
      middles: new Uint8Array(rowsKept),
    }
    all.set(radio, rows)
  }
  // What did not come leaves a gap of its length.
  const steps = Math.max(1, Math.min(rowsKept, Math.round((atWallMs - rows.lastWallMs) / rowMs)))
  for (let step = 1; step < steps; step++) write(rows, rows.lastIndex + step, undefined)
  rows.lastIndex = (rows.lastIndex + steps) % rowsKept
  rows.lastWallMs = atWallMs
  write(rows, rows.lastIndex, octets)
  rows.middles[rows.lastIndex] = middleOf(octets)
}

function write(rows: Rows, index: number, octets: Uint8Array | undefined): void {
  const at = (index % rowsKept) * rowBins
  if (octets === undefined) rows.levels.fill(0, at, at + rowBins)
  else rows.levels.set(octets.subarray(0, rowBins), at)
}

const middleOf = (octets: Uint8Array): number => octets.toSorted()[octets.length >> 1] ?? 0

/** The strongest line of the newest row. */
export function strongest(rows: Rows): { readonly hz: number; readonly dbfs: number } {
  const at = rows.lastIndex * rowBins
  let best = 0
  for (let bin = 1; bin < rowBins; bin++)
    if (rows.levels[at + bin]! > rows.levels[at + best]!) best = bin
  return {
    hz: Math.round(((best + 0.5) * 4000) / rowBins / 10) * 10,
    dbfs: rows.levels[at + best]! / 2 - 127.5,
  }
}
