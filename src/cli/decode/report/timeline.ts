import { rowBins } from '../../../../dsp/measure/spectrumRows.js'

/** What was heard in one column of a picture. */
export interface TimeColumn {
  /** the strongest of each line of the spectrum, as in SpectrumRow */
  readonly levels: Uint8Array
  /** of its samples */
  squares: number
  sampleCount: number
  peak: number
  clippedCount: number
  readCount: number
  damagedCount: number
  /** of both */
  balanceSumDb: number
}

export interface Timeline {
  readonly columns: readonly TimeColumn[]
  /** seconds that a column lasts */
  readonly columnS: number
  add(column: TimeColumn): void
  /** A frame or a damaged one, where it began. @param atS since this timeline's beginning */
  note(atS: number, kind: 'read' | 'damaged', balanceDb: number): void
}

export const emptyColumn = (): TimeColumn => ({
  levels: new Uint8Array(rowBins),
  ...{ squares: 0, sampleCount: 0, peak: 0, clippedCount: 0 },
  ...{ readCount: 0, damagedCount: 0, balanceSumDb: 0 },
})

/**
 * A bounded number of columns for a stream of any length: when they are full, each two become one.
 * @param rowS seconds of what is added
 */
export function createTimeline(columnsMax: number, rowS: number): Timeline {
  let columns: TimeColumn[] = []
  let rowsPerColumn = 1
  let rowsInLast = 0
  const halve = (): void => {
    columns = columns.flatMap((column, at) => {
      if (at % 2 === 1) return []
      const next = columns[at + 1]
      if (next !== undefined) merge(column, next)
      return [column]
    })
    rowsPerColumn *= 2
  }
  return {
    get columns() {
      return columns
    },
    get columnS() {
      return rowsPerColumn * rowS
    },
    add(column) {
      const last = columns.at(-1)
      if (last !== undefined && rowsInLast < rowsPerColumn) {
        merge(last, column)
        rowsInLast++
        return
      }
      if (columns.length >= columnsMax) halve()
      columns.push(column)
      rowsInLast = 1
    },
    note(atS, kind, balanceDb) {
      const index = Math.floor(atS / (rowsPerColumn * rowS))
      const column = columns[Math.max(0, Math.min(columns.length - 1, index))]
      if (column === undefined) return
      if (kind === 'read') column.readCount++
      else column.damagedCount++
      column.balanceSumDb += balanceDb
    },
  }
}

function merge(into: TimeColumn, other: TimeColumn): void {
  for (let bin = 0; bin < rowBins; bin++)
    if (other.levels[bin]! > into.levels[bin]!) into.levels[bin] = other.levels[bin]!
  into.squares += other.squares
  into.sampleCount += other.sampleCount
  into.peak = Math.max(into.peak, other.peak)
  into.clippedCount += other.clippedCount
  into.readCount += other.readCount
  into.damagedCount += other.damagedCount
  into.balanceSumDb += other.balanceSumDb
}
