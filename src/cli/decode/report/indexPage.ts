import { html, htmlPage } from '../../shared/htmlPage.js'
import { clockText } from '../decodeFormat.js'
import type { TrackSummary } from './channelPages.js'

/** One channel of a recording, or a recording that could not be read. */
export type IndexLine =
  | {
      readonly recording: string
      readonly title: string
      readonly href: string
      readonly summary: TrackSummary
    }
  | { readonly recording: string; readonly problem: string }

/** Several recordings in one table. */
export function indexPage(lines: readonly IndexLine[]): string {
  const sum = (of: (summary: TrackSummary) => number): number =>
    lines.reduce((total, line) => total + ('summary' in line ? of(line.summary) : 0), 0)
  const [read, damaged] = [sum((one) => one.readCount), sum((one) => one.damagedCount)]
  const count = new Set(lines.map(({ recording }) => recording)).size
  const title = `${count} ${count === 1 ? 'recording' : 'recordings'}: ${read} read, ${damaged} damaged`
  return htmlPage(
    title,
    `<h1>${title}</h1>
<div class="wide" tabindex="0" role="region" aria-label="Recordings">
<table><thead><tr><th>Recording</th><th class="number">length</th><th class="number">read</th><th class="number">repaired</th><th class="number">damaged</th><th class="number">dBFS</th><th class="number">2200 Hz, dB</th></tr></thead>
<tbody>${lines.map(row).join('\n')}</tbody></table></div>`,
  )
}

function row(line: IndexLine): string {
  if ('problem' in line)
    return `<tr><td>${html(line.recording)}</td><td colspan="6">not read: ${html(line.problem)}</td></tr>`
  const { durationS, readCount, repairedCount, damagedCount, levelDbfs, toneBalanceDb } =
    line.summary
  const cells = [
    clockText(durationS, 0),
    ...[readCount, repairedCount, damagedCount].map(String),
    ...[levelDbfs, toneBalanceDb].map((value) =>
      value === undefined ? '' : value.toFixed(1).replace(/^-0\.0$/, '0.0'),
    ),
  ]
  return `<tr><td><a href="${html(line.href)}">${html(line.title)}</a></td>${cells.map((cell) => `<td class="number">${cell}</td>`).join('')}</tr>`
}
