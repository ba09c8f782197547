/** One line of a plot. */
export interface Curve {
  readonly label: string
  readonly points: readonly (readonly [number, number])[]
  /** bounds are drawn dashed, measurements with a dot at each point */
  readonly kind: 'measured' | 'bound'
}

export interface PlotOptions {
  readonly title: string
  readonly xLabel: string
  readonly yLabel: string
  readonly x: { readonly from: number; readonly to: number; readonly step: number }
  readonly y: { readonly from: number; readonly to: number; readonly step: number }
  readonly curves: readonly Curve[]
}

/** A line plot with grid, axes and legend, as an SVG document that stands alone. */
export function svgPlot(options: PlotOptions): string {
  const { x, y } = options
  const toX = (value: number): number => margin + ((value - x.from) / (x.to - x.from)) * plotWidth
  const toY = (value: number): number =>
    margin + plotHeight - ((value - y.from) / (y.to - y.from)) * plotHeight
  const height = plotHeight + 2 * margin + options.curves.length * legendRow
  const parts = [
    `<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 ${plotWidth + 2 * margin} ${height}" font-family="sans-serif" font-size="13">`,
    `<rect width="100%" height="100%" fill="#fff"/>`,
    text(margin + plotWidth / 2, margin / 2, options.title, 'middle', 'font-size="16"'),
    text(margin + plotWidth / 2, plotHeight + margin * 1.75, options.xLabel, 'middle'),
    text(margin / 3, margin - 12, options.yLabel, 'start'),
    ...ticks(x).flatMap((value) => [
      line(toX(value), margin, toX(value), margin + plotHeight),
      text(toX(value), margin + plotHeight + 18, label(value), 'middle'),
    ]),
    ...ticks(y).flatMap((value) => [
      line(margin, toY(value), margin + plotWidth, toY(value)),
      text(margin - 8, toY(value) + 4, label(value), 'end'),
    ]),
    ...options.curves.flatMap((curve, index) => drawCurve(curve, index, toX, toY, y)),
    '</svg>',
  ]
  return `${parts.join('\n')}\n`
}

const margin = 60
const plotWidth = 640
const plotHeight = 400
const legendRow = 18
/** Told apart by colour-blind readers too (palette of M. Okabe and K. Ito). */
const colours = ['#0072b2', '#d55e00', '#009e73', '#cc79a7', '#e69f00', '#56b4e9']

function drawCurve(
  curve: Curve,
  index: number,
  toX: (value: number) => number,
  toY: (value: number) => number,
  y: { readonly from: number; readonly to: number },
): string[] {
  const colour = colours[index % colours.length]!
  const inside = (value: number): number => Math.min(y.to, Math.max(y.from, value))
  const places = curve.points.map(([px, py]) => [toX(px).toFixed(1), toY(inside(py)).toFixed(1)])
  const dash = curve.kind === 'bound' ? ' stroke-dasharray="6 4"' : ''
  // Below the plot: inside of it, a curve would run through the words.
  const row = plotHeight + 2 * margin + 8 + index * legendRow
  return [
    `<polyline fill="none" stroke="${colour}" stroke-width="2"${dash} points="${places.map((place) => place.join(',')).join(' ')}"/>`,
    ...(curve.kind === 'measured'
      ? places.map(([cx, cy]) => `<circle cx="${cx}" cy="${cy}" r="3" fill="${colour}"/>`)
      : []),
    `<line x1="${margin + 12}" y1="${row - 4}" x2="${margin + 40}" y2="${row - 4}" stroke="${colour}" stroke-width="2"${dash}/>`,
    text(margin + 46, row, curve.label, 'start'),
  ]
}

function ticks({ from, to, step }: { from: number; to: number; step: number }): number[] {
  return Array.from({ length: Math.round((to - from) / step) + 1 }, (_, n) => from + n * step)
}

const label = (value: number): string => String(Number(value.toFixed(6)))

function line(x1: number, y1: number, x2: number, y2: number): string {
  return `<line x1="${x1.toFixed(1)}" y1="${y1.toFixed(1)}" x2="${x2.toFixed(1)}" y2="${y2.toFixed(1)}" stroke="#ddd"/>`
}

function text(x: number, y: number, words: string, anchor: string, more = ''): string {
  const safe = words.replaceAll('&', '&amp;').replaceAll('<', '&lt;')
  return `<text x="${x.toFixed(1)}" y="${y.toFixed(1)}" text-anchor="${anchor}" ${more}>${safe}</text>`
}
