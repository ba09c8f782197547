const plainCount = 99_900
const shortCount = 36 * 36

/**
 * Number of a message of ours: three to five digits, or two characters for a station that understands
 * reply-acknowledgements, whose form has room for no more (addendum of December 1999). The lengths differ, so the
 * two never collide.
 * @param count from a counter that outlives restarts
 */
export function messageNumber(count: number, short: boolean): string {
  if (short) return (count % shortCount).toString(36).toUpperCase().padStart(2, '0')
  return String((count % plainCount) + 100)
}
