/** Minutes east of UTC at a time. */
export type OffsetAt = (wallMs: number) => number

/** How a station's local time is told: by a zone's name with its daylight saving, else by a fixed offset. */
export interface LocalTime {
  /** an IANA name such as 'Europe/Lisbon'; '' for none */
  readonly timeZone: string
  readonly utcOffsetMinutes: number
}

const minuteMs = 60_000
/** Since the zones' offsets are set by minutes of the hour, clocks have been changed at quarters of an hour only. */
const quarterMs = 15 * minuteMs
/** A service that looks through days asks for the same quarters again and again. */
const rememberedMax = 2_000

/** Whether this Node knows a zone of that name; the data is its own. */
export function isTimeZone(name: string): boolean {
  // What else some Nodes take, '+02:00', is no name.
  if (!/^[A-Za-z]/.test(name)) return false
  try {
    return new Intl.DateTimeFormat('en', { timeZone: name }) !== undefined
  } catch {
    return false
  }
}

/** @throws RangeError for a zone that is not known */
export function offsetAtIn({ timeZone, utcOffsetMinutes }: LocalTime): OffsetAt {
  if (timeZone === '') return () => utcOffsetMinutes
  const format = new Intl.DateTimeFormat('en-u-ca-iso8601', {
    ...{ timeZone, hourCycle: 'h23', year: 'numeric', month: 'numeric', day: 'numeric' },
    ...{ hour: 'numeric', minute: 'numeric', second: 'numeric' },
  })
  const known = new Map<number, number>()
  return (wallMs) => {
    const quarter = Math.floor(wallMs / quarterMs)
    const before = known.get(quarter)
    if (before !== undefined) return before
    const offset = offsetOf(format, quarter * quarterMs)
    if (known.size >= rememberedMax) known.clear()
    known.set(quarter, offset)
    return offset
  }
}

/** What the zone's clock shows, read as if it were UTC, less UTC. */
function offsetOf(format: Intl.DateTimeFormat, wallMs: number): number {
  const shown = new Map(format.formatToParts(wallMs).map(({ type, value }) => [type, value]))
  const part = (name: Intl.DateTimeFormatPartTypes): number => Number(shown.get(name))
  const localMs = Date.UTC(
    ...([part('year'), part('month') - 1, part('day')] as const),
    ...([part('hour'), part('minute'), part('second')] as const),
  )
  return Math.round((localMs - wallMs) / minuteMs)
}
