import type { Wording } from '../words/air/wording.js'

const minuteMs = 60_000

/** Time of day with minutes, '05:12', at an offset from UTC; rounded to the minute. */
export function clockWords(wallMs: number, utcOffsetMinutes: number): string {
  const rounded = Math.round(wallMs / minuteMs) * minuteMs
  return shifted(rounded, utcOffsetMinutes).slice(11, 16)
}

/** Day and month, '21 Jun'. */
export function dayWords(wallMs: number, utcOffsetMinutes: number, wording: Wording): string {
  const iso = shifted(wallMs, utcOffsetMinutes)
  const month = wording.listed('months', Number(iso.slice(5, 7)) - 1)
  return wording.say('dayAndMonth', { day: Number(iso.slice(8, 10)), month })
}

/** Day of the week, 'Sun'. */
export function weekdayWords(wallMs: number, utcOffsetMinutes: number, wording: Wording): string {
  return wording.listed('weekdays', new Date(wallMs + utcOffsetMinutes * minuteMs).getUTCDay())
}

/** '2026-06-21', at an offset from UTC; each language in its own order. */
export function dateWords(wallMs: number, utcOffsetMinutes: number, wording: Wording): string {
  const [year = '', month2 = '', day2 = ''] = isoDate(wallMs, utcOffsetMinutes).split('-')
  return wording.say('date', { year, month2, day2 })
}

/** '2026-06-21', at an offset from UTC; to compare days. */
export const isoDate = (wallMs: number, utcOffsetMinutes: number): string =>
  shifted(wallMs, utcOffsetMinutes).slice(0, 10)

/** 'UTC', 'UTC-2', 'UTC+5:30'. */
export function zoneWords(utcOffsetMinutes: number): string {
  if (utcOffsetMinutes === 0) return 'UTC'
  const minutes = Math.abs(utcOffsetMinutes)
  const rest = minutes % 60 === 0 ? '' : `:${String(minutes % 60).padStart(2, '0')}`
  return `UTC${utcOffsetMinutes < 0 ? '-' : '+'}${Math.floor(minutes / 60)}${rest}`
}

const shifted = (wallMs: number, utcOffsetMinutes: number): string =>
  new Date(wallMs + utcOffsetMinutes * minuteMs).toISOString()

/** As the begin of a sentence. */
export const capitalised = (text: string): string =>
  `${text.slice(0, 1).toUpperCase()}${text.slice(1)}`
