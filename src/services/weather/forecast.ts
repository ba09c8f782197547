import { readFile } from 'node:fs/promises'
import { basename } from 'node:path'
import { characterCount } from '../../aprs/messageText.js'
import { errorText } from '../../runtime/errorText.js'
import { Failure } from '../../runtime/failure.js'
import type { OffsetAt } from '../../runtime/localTime.js'
import { decodeText } from '../data/decodeText.js'
import type { Loaded, Rejected } from '../data/rejected.js'

/** What the operator expects of the weather, and until when that holds. */
export interface Forecast {
  /** as on a clock that shows UTC, where no zone stands behind it */
  readonly untilMs: number
  readonly isLocal: boolean
  readonly text: string
}

/** Two messages with what stands before it. */
const charactersMax = 90
/** Nobody knows the weather of next week, and a year is mistyped easily. */
const aheadMaxMs = 7 * 86_400_000
const minuteMs = 60_000

/** 'until 2026-06-22 06:00', local time unless Z or an offset stands behind it; then the text. An empty file is no forecast. */
export function parseForecast(text: string): Loaded<Forecast> {
  const lines = text.split(/\r\n|\n|\r/).map((line) => line.trim())
  const at = lines.findIndex((line) => line !== '')
  if (at < 0) return { entries: [], rejected: [], rejectedCount: 0 }
  const wrong = (field: string, got: string, expected: string): Loaded<Forecast> => {
    const rejected: Rejected = { line: at + 1, field, got, expected }
    return { entries: [], rejected: [rejected], rejectedCount: 1 }
  }
  const told = /^until:?\s+(\d{4}-\d\d-\d\d)[ T](\d\d:\d\d)\s*(Z|UTC|[+-]\d\d:\d\d)?$/i.exec(
    lines[at]!,
  )
  const zone = told?.[3] ?? ''
  const untilMs = told
    ? Date.parse(`${told[1]}T${told[2]}:00${/^[+-]/.test(zone) ? zone : 'Z'}`)
    : Number.NaN
  if (!Number.isFinite(untilMs))
    return wrong(
      'until',
      `"${lines[at]!.slice(0, 40)}"`,
      'a first line such as: until 2026-06-22 06:00',
    )
  const said = lines
    .slice(at + 1)
    .join(' ')
    .replace(/\s+/g, ' ')
    .trim()
  const length = characterCount(said)
  if (length === 0) return wrong('text', 'nothing', 'the forecast in the lines behind the first')
  if (length > charactersMax)
    return wrong('text', `${length} characters`, `at most ${charactersMax}`)
  return {
    entries: [{ untilMs, isLocal: zone === '', text: said }],
    rejected: [],
    rejectedCount: 0,
  }
}

/**
 * A file that is not there is no forecast: who deletes it means that.
 * @throws Failure 'data-unreadable'
 */
export async function loadForecast(file: string): Promise<Loaded<Forecast>> {
  try {
    return parseForecast(decodeText(await readFile(file)))
  } catch (cause) {
    if ((cause as NodeJS.ErrnoException).code === 'ENOENT') return parseForecast('')
    const problem = `cannot be read: ${errorText(cause)}`
    throw new Failure({ code: 'data-unreadable', subject: basename(file), problem, cause })
  }
}

/** Until when it holds, by the wall clock; undefined once that is over, and for what no forecast can say. */
export function forecastUntil(
  { untilMs, isLocal }: Forecast,
  nowWallMs: number,
  offsetAt: OffsetAt,
): number | undefined {
  const guess = isLocal ? untilMs - offsetAt(untilMs) * minuteMs : untilMs
  // Where the clocks are changed that day, the offset is the one of that time.
  const until = isLocal ? untilMs - offsetAt(guess) * minuteMs : guess
  return until > nowWallMs && until - nowWallMs <= aheadMaxMs ? until : undefined
}
