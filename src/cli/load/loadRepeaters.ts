import { basename } from 'node:path'
import { messageCharactersMax } from '../../aprs/messageText.js'
import { replaceFile } from '../../devices/replaceFile.js'
import { errorText } from '../../runtime/errorText.js'
import { Failure } from '../../runtime/failure.js'
import { airText } from '../../services/airText.js'
import { readDataFile } from '../../services/data/readDataFile.js'
import { loadRepeaters } from '../../services/repeaters/directory.js'
import { isPlaced, type RepeaterEntry, repeaterWords } from '../../services/repeaters/entry.js'
import { formatRepeaters } from '../../services/repeaters/formatRepeaters.js'
import { type RepeaterField, repeaterFields } from '../../services/repeaters/headers.js'
import {
  parseRepeaters,
  type RepeaterColumns,
  type RepeatersResult,
} from '../../services/repeaters/parseRepeaters.js'
import { inEnglish } from '../../words/air/all.js'
import { type LoadInput, type Prepared, targetOf } from './loadInput.js'
import { columnLines, countLines, countWords, reasonLines, warnedLines } from './loadReport.js'

/** Reads a directory in whatever columns it has; it is written in our own, so that the node needs no map. */
export async function prepareRepeaters(input: LoadInput): Promise<Prepared> {
  const { source, map } = input
  const { file, columns } = input.config.services.repeaters
  const target = targetOf(input, 'services.repeaters.file', file)
  const headers = headersOf(columns)
  const text = await readDataFile(source, 'a CSV file of repeaters')
  // The configuration's map is for the file in place; a new one may come in other columns.
  const inPlace = parseRepeaters(text, { ...columns, ...map })
  const parsed = inPlace.ok ? inPlace : parseRepeaters(text, map)
  if (!parsed.ok)
    throw new Failure({
      code: 'repeaters-unusable',
      subject: basename(source),
      got: parsed.got,
      expected: parsed.expected,
      advice: `name columns with --map FIELD=HEADER; fields: ${repeaterFields.join(', ')}`,
    })
  const name = basename(source)
  return {
    lines: [
      `Columns of ${name}, with what the first row has there:`,
      ...columnLines(parsed.header, parsed.meanings, parsed.firstCells),
      ...countLines('repeater', name, parsed),
      ...reasonLines('Left out', parsed.leftOutReasons),
      ...warnedLines(name, parsed),
      ...reasonLines('Warnings', parsed.warnedReasons),
      ...otherCounts(parsed),
      ...samples(parsed.entries),
    ],
    rightCount: parsed.entries.length,
    rejectedCount: parsed.rejectedCount,
    target,
    now: await inPlaceWords(target, columns),
    replace: async () => replaceFile(target, formatRepeaters(parsed.entries, headers)),
  }
}

/** Distance and direction come after each whose place is known; the asker's place decides them. */
const wayOfSample = '12km NE of you'
const samplesShown = 3

/** As they are sent, from the beginning, the middle and the end of the list. */
function samples(entries: readonly RepeaterEntry[]): string[] {
  const last = entries.length - 1
  const at = last < 0 ? [] : [...new Set([0, Math.floor(last / 2), last])]
  const shown = at.slice(0, samplesShown).map((one) => entries[one]!)
  if (shown.length === 0) return []
  const title = shown.some(isPlaced)
    ? `As it will be sent, "${wayOfSample}" standing for any distance and direction:`
    : 'As it will be sent:'
  return [title, ...shown.map(sampleLine)]
}

function sampleLine(entry: RepeaterEntry): string {
  const place = ` ${isPlaced(entry) ? wayOfSample : inEnglish.say('placeNotKnown')}`
  return `  ${airText(repeaterWords(entry, messageCharactersMax - place.length, inEnglish))}${place}`
}

function otherCounts(parsed: Extract<RepeatersResult, { ok: true }>): string[] {
  const { entries, mergedCount } = parsed
  const closed = entries.filter((entry) => entry.closed).length
  const offAir = entries.filter((entry) => entry.offAir).length
  const counts = [
    mergedCount > 0 ? `${mergedCount} more rows of the same repeaters` : '',
    closed > 0 ? `${closed} closed` : '',
    offAir > 0 ? `${offAir} off the air` : '',
  ].filter((text) => text !== '')
  if (counts.length === 0) return []
  const hidden =
    closed + offAir > 0 ? ' (closed and off the air: told only to who asks for them)' : ''
  return [`Of these: ${counts.join(', ')}${hidden}`]
}

async function inPlaceWords(target: string, columns: RepeaterColumns): Promise<string> {
  try {
    return `now ${countWords((await loadRepeaters(target, columns)).entries.length, 'repeater')}`
  } catch (error) {
    const isMissing = error instanceof Failure && errorText(error.cause) === 'no such file'
    return isMissing ? 'there is none yet' : 'which cannot be read now'
  }
}

/** Headers that the node's configuration expects. */
function headersOf(columns: RepeaterColumns): Partial<Record<RepeaterField, string>> {
  const headers: Partial<Record<RepeaterField, string>> = {}
  for (const [field, column] of Object.entries(columns)) {
    if (typeof column === 'string') headers[field as RepeaterField] = column
    else if (typeof column === 'number')
      throw new Failure({
        code: 'load-column-number',
        subject: `configuration: services.repeaters.columns.${field}`,
        got: `the number ${column}`,
        expected: 'a header text, or nothing',
        advice:
          'the loaded file has a header of its own: remove the table services.repeaters.columns',
      })
  }
  return headers
}
