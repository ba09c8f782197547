const minuteMs = 60_000

/** Time of day with minutes, '05:12', at an offset from UTC; rounded to the minute. */
export function clockWords(wallMs: number, utcOffsetMinutes: number): string {
  const rounded = Math.round(wallMs / minuteMs) * minuteMs
  return shifted(rounded, utcOffsetMinutes).slice(11, 16)
}

/** Day and month, '21 Jun'. */
export function dayWords(wallMs: number, utcOffsetMinutes: number): string {
  const iso = shifted(wallMs, utcOffsetMinutes)
  return `${Number(iso.slice(8, 10))} ${months[Number(iso.slice(5, 7)) - 1]}`
}

/** Day of the week, 'Sun'. */
export function weekdayWords(wallMs: number, utcOffsetMinutes: number): string {
  return weekdays[new Date(wallMs + utcOffsetMinutes * minuteMs).getUTCDay()]!
}

/** '2026-06-21', at an offset from UTC. */
export function dateWords(wallMs: number, utcOffsetMinutes: number): string {
  return shifted(wallMs, utcOffsetMinutes).slice(0, 10)
}

/** 'UTC', 'UTC-2', 'UTC+5:30'. */
export function zoneWords(utcOffsetMinutes: number): string {
  if (utcOffsetMinutes === 0) return 'UTC'
  const minutes = Math.abs(utcOffsetMinutes)
  const rest = minutes % 60 === 0 ? '' : `:${String(minutes % 60).padStart(2, '0')}`
  return `UTC${utcOffsetMinutes < 0 ? '-' : '+'}${Math.floor(minutes / 60)}${rest}`
}

const weekdays = ['Sun', 'Mon', 'Tue', 'Wed', 'Thu', 'Fri', 'Sat'] as const

const months = [
  'Jan',
  'Feb',
  'Mar',
  'Apr',
  'May',
  'Jun',
  'Jul',
  'Aug',
  'Sep',
  'Oct',
  'Nov',
  'Dec',
] as const

const shifted = (wallMs: number, utcOffsetMinutes: number): string =>
  new Date(wallMs + utcOffsetMinutes * minuteMs).toISOString()
