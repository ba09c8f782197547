import { dirname, resolve } from 'node:path'
import { loadConfig } from '../../../config/load.js'
import type { Edges } from '../../../devices/edges.js'
import { csvCell, harmlessJson, harmlessText } from '../../../runtime/harmlessText.js'
import { type OffsetAt, offsetAtIn } from '../../../runtime/localTime.js'
import { eventOptions } from '../../../setup/eventOptions.js'
import { holders } from '../../../setup/keptNames.js'
import { openStoreReader } from '../../../store/readOnly.js'
import { html, htmlPage } from '../../shared/htmlPage.js'
import { UsageError } from '../../shared/usageError.js'
import type { EventFormat } from './eventFormats.js'
import { type EventRow, eventRows } from './eventRows.js'

export interface EventAsked {
  readonly config: string
  readonly database: string
  readonly sinceWallMs?: number | undefined
  readonly untilWallMs?: number | undefined
  readonly format: EventFormat
}

/** What stands above the rows. */
interface Heading {
  readonly name: string
  readonly isExercise: boolean
  readonly call: string
  readonly fromWallMs: number
  readonly toWallMs: number
  readonly offsetAt: OffsetAt
}

/**
 * The communications log of the event that the configuration names, out of the frames that were on the air.
 * @throws UsageError where it names none
 */
export async function writeEventLog(asked: EventAsked, edges: Edges): Promise<void> {
  const config = await loadConfig(asked.config)
  const event = eventOptions(config, dirname(resolve(asked.config)))
  if (event === undefined)
    throw new UsageError({
      ...{ code: 'log-event', subject: asked.config, got: 'no [event] with a name' },
      expected: 'the event whose log is wanted',
      advice: 'name it, with its start and end, as README says',
    })
  const heading: Heading = {
    ...{ name: event.name, isExercise: event.isExercise, call: config.station.call },
    fromWallMs: asked.sinceWallMs ?? event.fromWallMs,
    toWallMs: asked.untilWallMs ?? event.toWallMs,
    offsetAt: offsetAtIn(config.station),
  }
  const reader = openStoreReader(asked.database, () => edges.clock.wallMs())
  try {
    const frames = reader.airFrames(heading.fromWallMs, heading.toWallMs)
    const held = holders(reader.serviceData)
    const rows = eventRows(frames, { call: heading.call, holders: held })
    edges.stdout.write(textOf(rows, heading, asked.format))
  } finally {
    reader.close()
  }
}

function textOf(rows: readonly EventRow[], heading: Heading, format: EventFormat): string {
  switch (format) {
    case 'csv':
      return csvOf(rows, heading)
    case 'json':
      return rows.map((row) => `${harmlessJson(JSON.stringify(jsonOf(row, heading)))}\n`).join('')
    case 'page':
      return pageOf(rows, heading)
    case 'text':
      return [
        `${titleOf(heading)}\n`,
        ...rows.map((row) => `${harmlessText(lineOf(row, heading))}\n`),
        `${countsOf(rows)}\n`,
      ].join('')
  }
}

const titleOf = ({ name, isExercise, call }: Heading): string =>
  `${isExercise ? 'EXERCISE: ' : ''}${harmlessText(name)}, communications log of ${call}`

/** Local time: '2026-06-21 09:05:12'. */
const localOf = (wallMs: number, { offsetAt }: Heading): string =>
  new Date(wallMs + offsetAt(wallMs) * 60_000).toISOString().slice(0, 19).replace('T', ' ')

const who = (call: string, name: string | undefined): string =>
  name === undefined ? call : `${name} (${call})`

/** When its receiver had it; '' for what nobody was asked to acknowledge. */
function confirmedOf({ number, ended }: EventRow, heading: Heading): string {
  if (ended === undefined) return number === undefined ? '' : 'no'
  const time = localOf(ended.atWallMs, heading).slice(11)
  return ended.how === 'confirmed' ? time : `refused ${time}`
}

function countsOf(rows: readonly EventRow[]): string {
  const numbered = rows.filter(({ number }) => number !== undefined)
  const confirmed = numbered.filter(({ ended }) => ended?.how === 'confirmed')
  return `${rows.length} messages, ${confirmed.length} of ${numbered.length} confirmed where that was asked for`
}

const lineOf = (row: EventRow, heading: Heading): string => {
  const confirmed = confirmedOf(row, heading)
  const ways = `${who(row.from, row.fromName)} > ${who(row.to, row.toName)}`
  return `${localOf(row.atWallMs, heading)} ${ways}: ${row.text}${confirmed === '' ? '' : ` [${confirmed}]`}`
}

const columns = [
  ...['time', 'from', 'from_name', 'to', 'to_name', 'text', 'confirmed', 'event'],
] as const

function cellsOf(row: EventRow, heading: Heading): string[] {
  const { from, fromName = '', to, toName = '', text } = row
  const event = `${heading.isExercise ? 'EXERCISE: ' : ''}${heading.name}`
  const time = localOf(row.atWallMs, heading)
  return [time, from, fromName, to, toName, text, confirmedOf(row, heading), event]
}

const csvOf = (rows: readonly EventRow[], heading: Heading): string =>
  [columns, ...rows.map((row) => cellsOf(row, heading))]
    .map((cells) => `${cells.map(csvCell).join(',')}\n`)
    .join('')

const jsonOf = (row: EventRow, heading: Heading): Record<string, string> =>
  Object.fromEntries(cellsOf(row, heading).map((cell, at) => [columns[at]!, cell]))

/** To be printed: a table that goes on over pages. */
function pageOf(rows: readonly EventRow[], heading: Heading): string {
  const cell = (text: string): string => `<td>${html(text)}</td>`
  const lines = rows.map(
    (row) =>
      `<tr>${[
        localOf(row.atWallMs, heading),
        who(row.from, row.fromName),
        who(row.to, row.toName),
        row.text,
        confirmedOf(row, heading),
      ]
        .map(cell)
        .join('')}</tr>`,
  )
  const span = `${localOf(heading.fromWallMs, heading)} to ${localOf(heading.toWallMs, heading)}, local time`
  const body = `<h1>${html(titleOf(heading))}</h1>
<p>${html(span)}. ${html(countsOf(rows))}.</p>
<table>
<thead><tr><th>time</th><th>from</th><th>to</th><th>text</th><th>confirmed</th></tr></thead>
<tbody>
${lines.join('\n')}
</tbody>
</table>
<p>Net control: ______________________ &nbsp; Date: ______________</p>`
  return htmlPage(titleOf(heading), body)
}
