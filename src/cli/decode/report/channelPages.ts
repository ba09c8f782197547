import { adviseOnPackets } from '../../../radio/packetAdvice.js'
import { harmlessText } from '../../../runtime/harmlessText.js'
import { html, htmlPage } from '../../shared/htmlPage.js'
import { clockText, type RecordingHead } from '../decodeFormat.js'
import { overviewLegend, type ReportPage } from './reportPage.js'
import type { TrackFindings } from './reportTrack.js'
import { timeBand } from './timeBand.js'

export interface PageLinks {
  readonly number: number
  readonly up: string
  readonly previous: string | undefined
  readonly next: string | undefined
}

export interface ReportedTrack {
  readonly title: string
  readonly recording: RecordingHead
  readonly findings: TrackFindings
  /** lines of the list of its pages; none where everything stands in this one */
  readonly parts: readonly string[]
  /** the index, where there is one */
  readonly up: string | undefined
}

/** Figures of one channel for the index. */
export interface TrackSummary {
  readonly durationS: number
  readonly readCount: number
  readonly repairedCount: number
  readonly damagedCount: number
  /** mean of the packets; undefined without any */
  readonly levelDbfs: number | undefined
  readonly toneBalanceDb: number | undefined
}

export function summaryOf(findings: TrackFindings): TrackSummary {
  const { durationS, readCount, repairedCount, damagedCount, figures } = findings
  const mean = (of: (one: (typeof figures)[number]) => number): number | undefined =>
    figures.length === 0
      ? undefined
      : figures.reduce((sum, one) => sum + of(one), 0) / figures.length
  return {
    ...{ durationS, readCount, repairedCount, damagedCount },
    levelDbfs: mean((one) => one.levelDbfs),
    toneBalanceDb: mean((one) => one.toneBalanceDb),
  }
}

/** 'day.wav', or with its channel where it has several. */
export const trackTitle = ({ name, channelCount }: RecordingHead, channel: number): string =>
  harmlessText(channelCount === 1 ? name : `${name}, channel ${channel}`)

/** What one channel of a recording was: with every frame, or with the list of the pages that have them. */
export function trackPage({ title, recording, findings, parts, up }: ReportedTrack): string {
  const { readCount, damagedCount, lastPage } = findings
  const body = [
    ...(up === undefined ? [] : [`<p><a href="${html(up)}">all recordings</a></p>`]),
    `<h1>${html(title)}: ${readCount} read, ${damagedCount} damaged</h1>`,
    ...aboutLines(recording, findings),
    parts.length === 0 ? lastPage.body() : overview(findings, parts),
  ].join('\n')
  return htmlPage(`${readCount} read, ${damagedCount} damaged: ${title}`, body)
}

/** A part of a longer recording. */
export function partPage(title: string, page: ReportPage, links: PageLinks): string {
  const { number, up, previous, next } = links
  const span = `${clockText(page.fromS, 0)} to ${clockText(page.toS, 0)}`
  const link = (href: string | undefined, text: string): string =>
    href === undefined ? '' : `<li><a href="${html(href)}">${text}</a></li>`
  const way = `<nav aria-label="Pages"><ul class="pages">${link(previous, 'before this')}${link(up, 'whole recording')}${link(next, 'after this')}</ul></nav>`
  const body = `${way}
<h1>${html(title)}, ${span}: ${page.readCount} read, ${page.damagedCount} damaged</h1>
${page.body()}
${way}`
  return htmlPage(`${span} (page ${number}): ${title}`, body)
}

function aboutLines({ sampleRateHz }: RecordingHead, findings: TrackFindings): string[] {
  const { durationS, readCount, repairedCount, damagedCount, figures } = findings
  const { levelDbfs, toneBalanceDb } = summaryOf(findings)
  const repaired = repairedCount === 0 ? '' : ` (${repairedCount} of them repaired)`
  const sentences = [
    `${clockText(durationS, 1)} at ${sampleRateHz} Hz.`,
    `${readCount} ${readCount === 1 ? 'frame was' : 'frames were'} read${repaired}, ${damagedCount} damaged beyond repair.`,
    ...(levelDbfs === undefined || toneBalanceDb === undefined
      ? []
      : [
          `They came at ${levelDbfs.toFixed(0)} dBFS on average, the 2200 Hz tone ${balanceWords(toneBalanceDb)} the 1200 Hz tone.`,
        ]),
  ]
  const advice = figures.length === 0 ? [] : adviseOnPackets(figures)
  return [
    `<p>${sentences.join(' ')}</p>`,
    ...(advice.length === 0
      ? []
      : [
          `<h2>What to change?</h2>\n<ul>${advice.map((text) => `<li>${html(text)}</li>`).join('')}</ul>`,
        ]),
  ]
}

function overview({ overview: timeline }: TrackFindings, parts: readonly string[]): string {
  const { columns, columnS } = timeline
  const band = timeBand({ columns, columnS, fromS: 0, columnsMax: columns.length })
  return `<h2>What came, and when?</h2>
<p class="small">${overviewLegend}</p>
<figure>${band}</figure>
<h2>What was read, and what was lost?</h2>
<table><thead><tr><th>Page</th><th class="number">read</th><th class="number">damaged</th></tr></thead>
<tbody>${parts.join('\n')}</tbody></table>`
}

function balanceWords(toneBalanceDb: number): string {
  const db = Math.abs(toneBalanceDb).toFixed(1)
  return db === '0.0'
    ? 'as strong as'
    : `${db} dB ${toneBalanceDb < 0 ? 'weaker' : 'stronger'} than`
}
