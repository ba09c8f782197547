import type { OffsetAt } from '../../runtime/localTime.js'

/** A day that somebody asks for. */
export interface DayWanted {
  /** its first moment, local time */
  readonly fromWallMs: number
  /** 0 for today, 1 for tomorrow */
  readonly daysAhead: number
}

const dayMs = 86_400_000
const minuteMs = 60_000
const weekdays = ['sun', 'mon', 'tue', 'wed', 'thu', 'fri', 'sat']
const months = ['jan', 'feb', 'mar', 'apr', 'may', 'jun', 'jul', 'aug', 'sep', 'oct', 'nov', 'dec']
const relative: ReadonlyMap<string, number> = new Map([
  ['today', 0],
  ['tonight', 0],
  ['tomorrow', 1],
  ['overmorrow', 2],
])

/**
 * Reads a day from the first words: 'tomorrow', 'fri' (the next one), '3 days' (from now), '2026-06-21', '21.6.', '21/6/2026', '21 jun', 'jun 21'.
 * A day and month without a year are the next such day; figures are day first, unless only the other order is a date.
 * @returns how many words it took; undefined for no day
 */
export function readDay(
  words: readonly string[],
  nowMs: number,
  offsetAt: OffsetAt,
): { readonly day: DayWanted; readonly length: number } | undefined {
  const [first = '', second = '', third = ''] = words
  const today = Math.floor((nowMs + offsetAt(nowMs) * minuteMs) / dayMs)
  const ofNumber = (number: number, length: number) => ({
    day: { fromWallMs: momentOf(number, offsetAt), daysAhead: number - today },
    length,
  })
  const ahead = relative.get(first)
  if (ahead !== undefined) return ofNumber(today + ahead, 1)
  if (second === 'days' && /^\d{1,2}$/.test(first)) return ofNumber(today + Number(first), 2)
  const weekday = weekdays.indexOf(first)
  // 1970-01-01 was a Thursday.
  if (weekday >= 0) return ofNumber(today + ((weekday - ((today + 4) % 7) + 7) % 7), 1)
  const year = /^\d{4}$/.test(third) ? Number(third) : undefined
  const yearLength = year === undefined ? 2 : 3
  const dayOf = (text: string): number =>
    Number(/^(\d{1,2})(st|nd|rd|th|\.)?$/i.exec(text)?.[1] ?? 0)
  if (months.includes(second) && dayOf(first) > 0) {
    const number = dayNumber(year, months.indexOf(second), dayOf(first), today)
    return number === undefined ? undefined : ofNumber(number, yearLength)
  }
  if (months.includes(first) && dayOf(second) > 0) {
    const number = dayNumber(year, months.indexOf(first), dayOf(second), today)
    return number === undefined ? undefined : ofNumber(number, yearLength)
  }
  const number = dayOfFigures(first, today)
  return number === undefined ? undefined : ofNumber(number, 1)
}

/** The next day of that number: '25' is the 25th of this month or of the next that has one. */
export function dayOfMonth(
  dayNumberWanted: number,
  nowMs: number,
  offsetAt: OffsetAt,
): DayWanted | undefined {
  const today = Math.floor((nowMs + offsetAt(nowMs) * minuteMs) / dayMs)
  for (let ahead = 0; ahead < 62; ahead++)
    if (new Date((today + ahead) * dayMs).getUTCDate() === dayNumberWanted)
      return { fromWallMs: momentOf(today + ahead, offsetAt), daysAhead: ahead }
  return undefined
}

function dayOfFigures(word: string, today: number): number | undefined {
  const iso = /^(\d{4})-(\d{1,2})-(\d{1,2})$/.exec(word)
  if (iso) return dayNumber(Number(iso[1]), Number(iso[2]) - 1, Number(iso[3]), today)
  const figures = /^(\d{1,2})[./-](\d{1,2})(?:[./-](\d{4}|\d{2}))?\.?$/.exec(word)
  if (figures === null) return undefined
  const [, one, other, given] = figures
  const year = given === undefined ? undefined : Number(given) + (given.length === 2 ? 2000 : 0)
  return (
    dayNumber(year, Number(other) - 1, Number(one), today) ??
    dayNumber(year, Number(one) - 1, Number(other), today)
  )
}

/** Days since 1970; undefined for what is not a date. */
function dayNumber(
  year: number | undefined,
  month: number,
  day: number,
  today: number,
): number | undefined {
  const of = (inYear: number): number | undefined => {
    const date = new Date(Date.UTC(inYear, month, day))
    return month >= 0 && date.getUTCMonth() === month && date.getUTCDate() === day
      ? Math.round(date.getTime() / dayMs)
      : undefined
  }
  if (year !== undefined) return year >= 1970 && year <= 2200 ? of(year) : undefined
  const thisYear = new Date(today * dayMs).getUTCFullYear()
  // 29 February may be some years ahead.
  for (let ahead = 0; ahead <= 8; ahead++) {
    const number = of(thisYear + ahead)
    if (number !== undefined && number >= today) return number
  }
  return undefined
}

/** The moment at which a local day begins; where the clock is set that night, the offset after midnight counts. */
function momentOf(day: number, offsetAt: OffsetAt): number {
  const guess = day * dayMs - offsetAt(day * dayMs) * minuteMs
  return day * dayMs - offsetAt(guess) * minuteMs
}
