import { rowBins } from '../../../../dsp/measure/spectrumRows.js'
import { powerDb } from '../../../../dsp/numbers/power.js'
import { clockText } from '../decodeFormat.js'
import { inkPicture } from './png.js'
import type { TimeColumn } from './timeline.js'

/** A frame, or a damaged one, on the axis of time. */
export interface Mark {
  readonly kind: 'read' | 'damaged'
  readonly fromS: number
  readonly toS: number
  readonly toneBalanceDb: number
  /** where more is told */
  readonly href: string
}

export interface TimeBand {
  readonly columns: readonly TimeColumn[]
  readonly columnS: number
  readonly fromS: number
  /** columns for which there is room: shorter bands fill it in part */
  readonly columnsMax: number
  /** in place of each column's counts */
  readonly marks?: readonly Mark[]
}

const left = 58
const right = 1000
const spectrumTop = 6
const spectrumHeight = 130
const marksTop = 142
const levelTop = 168
const levelHeight = 56
const levelFloorDbfs = -60
const balanceTop = 248
const balanceHeight = 44
const balanceSpanDb = 12
const height = 318

/** Spectrum, frames, level and tone balance over time, on one axis. */
export function timeBand(band: TimeBand): string {
  const { columns, columnS, fromS, columnsMax } = band
  const toS = fromS + columns.length * columnS
  const perColumn = (right - left) / columnsMax
  const xOf = (atS: number): number =>
    left + Math.max(0, Math.min(columns.length, (atS - fromS) / columnS)) * perColumn
  const end = xOf(toS)
  const label = `From ${clockText(fromS, 0)} to ${clockText(toS, 0)}: spectrum, what was read and what was damaged, level and tone balance`
  return `<div class="wide" tabindex="0" role="region" aria-label="${label}">
<svg viewBox="0 0 1000 ${height}" role="group" aria-label="${label}">
<text x="4" y="${spectrumTop + 11}">4 kHz</text>${toneLine(2200, end)}${toneLine(1200, end)}
<image x="${left}" y="${spectrumTop}" width="${(end - left).toFixed(1)}" height="${spectrumHeight}" preserveAspectRatio="none" href="${spectrumPicture(columns)}"/>
<text x="4" y="${marksTop + 12}">frames</text>${band.marks === undefined ? countMarks(band, perColumn) : band.marks.map((mark) => frameMark(mark, xOf)).join('')}
${levelLines(columns, perColumn, end)}
${balanceMarks(band, xOf, perColumn, end)}
${timeScale(fromS, toS, xOf)}
</svg></div>`
}

/** The darker, the farther it stands out of the middle of its moment: a tone in a quiet channel is as dark as one in noise. */
function spectrumPicture(columns: readonly TimeColumn[]): string {
  const width = Math.max(1, columns.length)
  const darkness = new Float32Array(width * rowBins)
  for (const [at, { levels }] of columns.entries()) {
    const middle = levels.slice().sort()[rowBins >> 1]!
    for (let bin = 0; bin < rowBins; bin++) {
      // Half decibels, some 10 dB of which the noise of one row reaches by itself.
      const over = levels[bin] === 0 ? 0 : levels[bin]! - middle - 9
      darkness[(rowBins - 1 - bin) * width + at] = over / 48
    }
  }
  return inkPicture(width, rowBins, darkness)
}

function toneLine(hz: number, end: number): string {
  const y = spectrumTop + spectrumHeight * (1 - hz / 4000)
  return `<text x="4" y="${(y + 4).toFixed(1)}">${(hz / 1000).toFixed(1)} kHz</text><path class="grid" d="M${left - 6} ${y.toFixed(1)}H${end.toFixed(1)}"/>`
}

/** A bar for what was read, a cross for what was damaged: told apart without colours, too. */
function frameMark({ kind, fromS, toS, href }: Mark, xOf: (atS: number) => number): string {
  const x = xOf(fromS)
  const wide = Math.max(3, xOf(toS) - x)
  const name = `${kind} at ${clockText(fromS, 1)}`
  const drawn =
    kind === 'read'
      ? `<path class="heard" stroke-width="7" d="M${x.toFixed(1)} ${marksTop + 8}h${wide.toFixed(1)}"/>`
      : `<path class="wrong" stroke-width="2" d="M${x.toFixed(1)} ${marksTop + 1}l${wide.toFixed(1)} 14m0 -14l-${wide.toFixed(1)} 14"/>`
  return `<a href="${href}" aria-label="${name}"><title>${name}</title>${drawn}</a>`
}

/** Above the line what was read, below it what was damaged. */
function countMarks({ columns }: TimeBand, perColumn: number): string {
  const most = Math.max(1, ...columns.map((one) => Math.max(one.readCount, one.damagedCount)))
  const bars = (countOf: (column: TimeColumn) => number, direction: number): string =>
    columns
      .map((column, at) => {
        const count = countOf(column)
        if (count === 0) return ''
        const x = left + (at + 0.5) * perColumn
        return `M${x.toFixed(1)} ${marksTop + 10}v${(direction * (2 + (8 * count) / most)).toFixed(1)}`
      })
      .join('')
  return `<path class="heard" stroke-width="1.5" d="${bars((one) => one.readCount, -1)}"/><path class="wrong" stroke-width="1.5" d="${bars((one) => one.damagedCount, 1)}"/><path class="grid" d="M${left} ${marksTop + 10}H${right}"/>`
}

function levelLines(columns: readonly TimeColumn[], perColumn: number, end: number): string {
  const yOf = (dbfs: number): number =>
    levelTop + (Math.min(-levelFloorDbfs, -dbfs) / -levelFloorDbfs) * levelHeight
  const line = (levelOf: (column: TimeColumn) => number): string =>
    columns
      .map((column, at) => {
        const x = left + (at + 0.5) * perColumn
        return `${x.toFixed(1)} ${yOf(levelOf(column)).toFixed(1)}`
      })
      .join('L')
  const scale = [0, -20, -40, -60].map((dbfs) => {
    const y = yOf(dbfs)
    return `<text x="4" y="${(y + 4).toFixed(1)}">${dbfs === 0 ? '0 dBFS' : dbfs}</text><path class="grid" d="M${left - 6} ${y.toFixed(1)}H${end.toFixed(1)}"/>`
  })
  if (columns.length === 0) return scale.join('')
  const mean = line(({ squares, sampleCount }) => powerDb(squares / Math.max(1, sampleCount)))
  const peak = line((column) => powerDb(column.peak ** 2))
  return `${scale.join('')}<path stroke-dasharray="1 2" d="M${peak}"/><path d="M${mean}"/>`
}

function balanceMarks(
  { columns, columnS, fromS, marks }: TimeBand,
  xOf: (atS: number) => number,
  perColumn: number,
  end: number,
): string {
  const middle = balanceTop + balanceHeight / 2
  const yOf = (balanceDb: number): number =>
    middle -
    (Math.max(-balanceSpanDb, Math.min(balanceSpanDb, balanceDb)) / balanceSpanDb) *
      (balanceHeight / 2)
  const scale = [balanceSpanDb, 0, -balanceSpanDb].map((db) => {
    const text = db === 0 ? 'tones 0' : `${db > 0 ? '+' : ''}${db} dB`
    return `<text x="4" y="${(yOf(db) + 4).toFixed(1)}">${text}</text><path class="grid" d="M${left - 6} ${yOf(db).toFixed(1)}H${end.toFixed(1)}"/>`
  })
  const points =
    marks === undefined
      ? columns.flatMap((column, at) => {
          const count = column.readCount + column.damagedCount
          if (count === 0) return []
          const x = xOf(fromS + (at + 0.5) * columnS)
          return [{ x, y: yOf(column.balanceSumDb / count), kind: 'read' as const }]
        })
      : marks.map((mark) => {
          const middleS = (mark.fromS + mark.toS) / 2
          return { x: xOf(middleS), y: yOf(mark.toneBalanceDb), kind: mark.kind }
        })
  const size = Math.max(1.5, Math.min(3, perColumn * 3))
  const shapes = points.map(({ x, y, kind }) =>
    kind === 'read'
      ? `<circle class="heard" cx="${x.toFixed(1)}" cy="${y.toFixed(1)}" r="${size}"/>`
      : `<path class="wrong" d="M${(x - size).toFixed(1)} ${(y - size).toFixed(1)}l${2 * size} ${2 * size}m0 -${2 * size}l-${2 * size} ${2 * size}"/>`,
  )
  return scale.join('') + shapes.join('')
}

function timeScale(fromS: number, toS: number, xOf: (atS: number) => number): string {
  const wanted = (toS - fromS) / 8
  const stepS =
    [1, 2, 5, 10, 15, 30, 60, 120, 300, 600, 1800, 3600, 7200, 14_400].find(
      (one) => one >= wanted,
    ) ?? 86_400
  const marks: string[] = []
  for (let atS = Math.ceil(fromS / stepS) * stepS; atS <= toS; atS += stepS) {
    const x = xOf(atS)
    const anchor = x > right - 30 ? 'end' : 'middle'
    marks.push(
      `<path class="grid" d="M${x.toFixed(1)} ${height - 22}v6"/><text x="${x.toFixed(1)}" y="${height - 3}" text-anchor="${anchor}">${clockText(atS, 0)}</text>`,
    )
  }
  return marks.join('')
}
