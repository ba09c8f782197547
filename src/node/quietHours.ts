/** A stretch of each day, minutes after midnight, local time. It may go over midnight. */
export interface QuietHours {
  readonly fromMinute: number
  readonly toMinute: number
}

const dayMinutes = 1440

/**
 * When the quiet hours that hold now are over, as local time 'HH:MM'; undefined where none hold. The begin belongs to them, the
 * end does not.
 * @param offsetMinutes of local time, east of UTC
 */
export function quietUntil(
  { fromMinute, toMinute }: QuietHours,
  wallMs: number,
  offsetMinutes: number,
): string | undefined {
  const sinceEpoch = Math.floor(wallMs / 60_000) + offsetMinutes
  const minute = ((sinceEpoch % dayMinutes) + dayMinutes) % dayMinutes
  const isQuiet =
    fromMinute <= toMinute
      ? minute >= fromMinute && minute < toMinute
      : minute >= fromMinute || minute < toMinute
  return isQuiet ? clockText(toMinute) : undefined
}

const clockText = (minute: number): string =>
  [Math.floor(minute / 60), minute % 60].map((part) => String(part).padStart(2, '0')).join(':')
