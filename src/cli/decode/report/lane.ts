import { html } from '../../shared/htmlPage.js'

/** A part of an axis, in units of its picture. */
export interface Stroke {
  readonly from: number
  readonly to: number
}

/** What is narrower would not be seen. */
const narrowest = 1.5

/** What lies in the picture; what touches is one. */
export function strokesWithin(strokes: readonly Stroke[], width: number): Stroke[] {
  const found: Stroke[] = []
  for (const stroke of strokes.toSorted((a, b) => a.from - b.from)) {
    const from = Math.max(0, Math.min(width - narrowest, stroke.from))
    const to = Math.min(width, Math.max(from + narrowest, stroke.to))
    if (stroke.to < 0 || stroke.from > width) continue
    const last = found.at(-1)
    if (last !== undefined && from <= last.to)
      found[found.length - 1] = { from: last.from, to: Math.max(last.to, to) }
    else found.push({ from, to })
  }
  return found
}

/** A strip under a picture: bars on its axis, and a word under the first of them; nothing without any. */
export function lane(strokes: readonly Stroke[], width: number, word: string): string {
  const bars = strokesWithin(strokes, width)
  const [first, last] = [bars[0], bars.at(-1)]
  if (first === undefined || last === undefined) return ''
  const drawn = bars.map(({ from, to }) => `M${from.toFixed(1)} 4H${to.toFixed(1)}`).join('')
  const share = (at: number): string => `${((100 * at) / width).toFixed(1)}%`
  // In the right half the word ends where the bars end.
  const place =
    first.from > width / 2
      ? `text-align: right; margin-right: ${share(width - last.to)}`
      : `margin-left: ${share(first.from)}`
  return `<div class="lane"><svg viewBox="0 0 ${width} 8" preserveAspectRatio="none" aria-hidden="true"><path class="bar" d="${drawn}"/></svg><span style="${place}">${html(word)}</span></div>
`
}
