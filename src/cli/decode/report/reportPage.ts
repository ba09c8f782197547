import { rowsPerSecond } from '../../../../dsp/measure/spectrumRows.js'
import { html } from '../../shared/htmlPage.js'
import { clockText } from '../decodeFormat.js'
import { type Mark, timeBand } from './timeBand.js'
import type { TimeColumn } from './timeline.js'

/** Ten minutes, in bands of two, and so many frames: what a browser shows at once, and a person reads. */
const pageRows = 600 * rowsPerSecond
const entriesMax = 200
const bandRows = 120 * rowsPerSecond

/** A part of a recording with every frame in it. */
export interface ReportPage {
  readonly fromS: number
  readonly toS: number
  readonly readCount: number
  readonly damagedCount: number
  /** no row or no frame more goes in */
  readonly isFull: boolean
  addRow(column: TimeColumn): void
  addEntry(mark: Omit<Mark, 'href'>, entryOf: (id: string) => string): void
  /** the sections of the page */
  body(): string
}

/** @param fromS since the recording's beginning */
export function createReportPage(fromS: number): ReportPage {
  const rows: TimeColumn[] = []
  const marks: Mark[] = []
  const entries: { readonly atS: number; readonly text: string }[] = []
  const countOf = (kind: Mark['kind']): number => marks.filter((one) => one.kind === kind).length
  return {
    fromS,
    get toS() {
      return fromS + rows.length / rowsPerSecond
    },
    get readCount() {
      return countOf('read')
    },
    get damagedCount() {
      return countOf('damaged')
    },
    get isFull() {
      return rows.length >= pageRows || entries.length >= entriesMax
    },
    addRow: (column) => void rows.push(column),
    addEntry(mark, entryOf) {
      const id = `f${marks.length + 1}`
      marks.push({ ...mark, href: `#${id}` })
      entries.push({ atS: mark.fromS, text: entryOf(id) })
    },
    body() {
      // What is damaged is told later than what was read.
      const inOrder = entries.toSorted((a, b) => a.atS - b.atS)
      const bands: string[] = []
      for (let at = 0; at < rows.length; at += bandRows) {
        const bandFromS = fromS + at / rowsPerSecond
        const columns = rows.slice(at, at + bandRows)
        const bandToS = bandFromS + columns.length / rowsPerSecond
        bands.push(
          timeBand({
            ...{ columns, columnS: 1 / rowsPerSecond, fromS: bandFromS },
            // A short recording fills the width.
            columnsMax: Math.min(rows.length, bandRows),
            marks: marks.filter((mark) => mark.toS >= bandFromS && mark.fromS < bandToS),
          }),
        )
      }
      return `<h2 id="when">What came, and when?</h2>
<p class="small">${bandLegend}</p>
${bands.length === 0 ? '<p>Too short for a picture.</p>' : ''}${bands.map((band) => `<figure>${band}</figure>`).join('\n')}
<h2 id="frames">What was read, and what was lost?</h2>
${entriesSection(
  inOrder.map(({ text }) => text),
  countOf('damaged'),
)}`
    },
  }
}

const bandLegend =
  'From above: spectrum, dark where something stands out; frames, a bar for what was read and a cross for what was damaged; level (line) and peak (dots); power of the 2200 Hz tone over that of the 1200 Hz tone, a circle for what was read and a cross for what was damaged.'

function entriesSection(entries: readonly string[], damagedCount: number): string {
  if (entries.length === 0) return '<p>No frame, and nothing that looked like one.</p>'
  const choice =
    damagedCount === 0 || damagedCount === entries.length
      ? ''
      : '<label class="choice"><input type="checkbox" id="only-damaged"> only the damaged ones</label>\n'
  return `${choice}<ol class="entries">
${entries.join('\n')}
</ol>`
}

export const overviewLegend =
  'From above: spectrum, dark where something stands out; frames, bars above the line for what was read and below it for what was damaged; level (line) and peak (dots); power of the 2200 Hz tone over that of the 1200 Hz tone.'

/** One line of the list of pages. */
export const pageLine = (page: ReportPage, href: string): string =>
  `<tr><td><a href="${html(href)}">${clockText(page.fromS, 0)} to ${clockText(page.toS, 0)}</a></td><td class="number">${page.readCount}</td><td class="number">${page.damagedCount}</td></tr>`
