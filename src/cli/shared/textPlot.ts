/** One curve of a plot; later curves are drawn over earlier ones. */
export interface Curve {
  readonly mark: string
  readonly valueAt: (x: number) => number
}

export interface TextPlotOptions {
  /** columns and rows of the drawing itself, without the scales */
  readonly columns: number
  readonly rows: number
  /** both above 0: the scale is logarithmic */
  readonly xFrom: number
  readonly xTo: number
  readonly yFrom: number
  readonly yTo: number
  readonly curves: readonly Curve[]
  /** a vertical line of these at an x */
  readonly uprights?: readonly { readonly x: number; readonly mark: string }[]
  /** a line across at this y */
  readonly level: number
  readonly yLabel: (y: number) => string
  readonly xLabels: readonly number[]
}

/** Curves over a logarithmic x, on a terminal; values off the drawing are left out. */
export function textPlot(options: TextPlotOptions): string[] {
  const { columns, rows, xFrom, xTo, yFrom, yTo } = options
  const grid = Array.from({ length: rows }, () => Array<string>(columns).fill(' '))
  const columnOf = (x: number): number =>
    Math.round((Math.log(x / xFrom) / Math.log(xTo / xFrom)) * (columns - 1))
  const xOf = (column: number): number => xFrom * (xTo / xFrom) ** (column / (columns - 1))
  const rowOf = (y: number): number => Math.round(((yTo - y) / (yTo - yFrom)) * (rows - 1))
  const put = (row: number, column: number, mark: string): void => {
    const line = grid[row]
    if (line !== undefined && column >= 0 && column < columns) line[column] = mark
  }

  for (let column = 0; column < columns; column++) put(rowOf(options.level), column, '-')
  for (const { x, mark } of options.uprights ?? [])
    for (let row = 0; row < rows; row++) put(row, columnOf(x), mark)
  for (const { mark, valueAt } of options.curves)
    for (let column = 0; column < columns; column++) put(rowOf(valueAt(xOf(column))), column, mark)

  const labels = grid.map((_, row) =>
    row % 2 === 0 ? options.yLabel(yTo - (row / (rows - 1)) * (yTo - yFrom)) : '',
  )
  const width = Math.max(...labels.map((label) => label.length))
  const lines = grid.map((line, row) =>
    `${labels[row]!.padStart(width)} |${line.join('')}`.trimEnd(),
  )
  return [
    ...lines,
    `${' '.repeat(width)} +${'-'.repeat(columns)}`,
    `${' '.repeat(width + 2)}${scale(options.xLabels, columnOf, columns)}`.trimEnd(),
  ]
}

/** Numbers under their columns, as far as they do not touch. */
function scale(
  values: readonly number[],
  columnOf: (x: number) => number,
  columns: number,
): string {
  let text = ''
  for (const value of values) {
    const label = String(value)
    const from = Math.min(columnOf(value), columns - label.length)
    if (from < 0 || columnOf(value) >= columns || (text !== '' && from <= text.length)) continue
    text = text.padEnd(from) + label
  }
  return text
}
