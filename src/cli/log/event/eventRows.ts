import { readHeard } from '../../../node/intake.js'
import type { HeardFrame } from '../../../radio/port.js'
import { tacticalName } from '../../../services/event/tacticalNames.js'
import type { Holder } from '../../../setup/keptNames.js'
import type { AirFrame } from '../../../store/airFrames.js'

/** A message, bulletin or announcement that was on the air in an event. */
export interface EventRow {
  /** when it was on the air first */
  readonly atWallMs: number
  readonly from: string
  /** tactical name of that station at that time */
  readonly fromName: string | undefined
  readonly to: string
  readonly toName: string | undefined
  readonly text: string
  /** its line number; undefined for one that wants no acknowledgement */
  readonly number: string | undefined
  readonly ended?: { readonly how: 'confirmed' | 'refused'; readonly atWallMs: number }
}

type OpenRow = { -readonly [key in keyof EventRow]: EventRow[key] }

/** A message under the same number is the same within this: what is repeated longest is kept for an hour. */
const sameNumberedMs = 2 * 3_600_000
/** The same text without a number, as by a digipeater: 30 s is common practice, no source. */
const sameUnnumberedMs = 30_000
/** The node acts on no more either. */
const repairedBitsMax = 1

/**
 * What the frames of an event say to whom, oldest first: copies and repetitions are one row, which an acknowledgement of its
 * receiver, or of the node for a tactical name, confirms.
 * @param frames oldest first
 */
export function eventRows(
  frames: readonly AirFrame[],
  { call, holders }: { readonly call: string; readonly holders: readonly Holder[] },
): readonly EventRow[] {
  const rows: OpenRow[] = []
  /** the last time that each was on the air, and its row */
  const known = new Map<string, { row: OpenRow; lastWallMs: number }>()

  const end = (
    how: 'confirmed' | 'refused',
    from: string,
    to: string,
    number: string,
    atWallMs: number,
  ): void => {
    const row = rows.findLast(
      (one) =>
        one.from === to &&
        one.number === number &&
        atWallMs - one.atWallMs <= sameNumberedMs &&
        (one.to === from || (from === call && tacticalName(one.to) !== undefined)),
    )
    if (row !== undefined) row.ended ??= { how, atWallMs }
  }

  for (const { atWallMs, octets, repairedBits } of frames) {
    const intake = repairedBits <= repairedBitsMax ? readHeard({ octets } as HeardFrame) : undefined
    if (intake?.ok !== true) continue
    const { from, payload } = intake.heard
    if (payload.kind === 'acknowledgement' || payload.kind === 'rejection') {
      const how = payload.kind === 'acknowledgement' ? 'confirmed' : 'refused'
      end(how, from, payload.addressee.trim(), payload.number, atWallMs)
    } else if (payload.kind === 'message' || payload.kind === 'bulletin') {
      const number = payload.kind === 'message' ? payload.number : undefined
      const to =
        payload.kind === 'message'
          ? payload.addressee.trim()
          : `BLN${payload.id}${payload.group ?? ''}`
      if (payload.kind === 'message' && payload.replyAcknowledges)
        end('confirmed', from, to, payload.replyAcknowledges, atWallMs)
      const key = JSON.stringify([from, to, number, payload.text])
      const before = known.get(key)
      const windowMs = number === undefined ? sameUnnumberedMs : sameNumberedMs
      if (before !== undefined && atWallMs - before.lastWallMs <= windowMs) {
        before.lastWallMs = atWallMs
        continue
      }
      const fromName = nameAt(holders, from, atWallMs)
      const toName = nameAt(holders, to, atWallMs)
      const row: OpenRow = { atWallMs, from, fromName, to, toName, text: payload.text, number }
      rows.push(row)
      known.set(key, { row, lastWallMs: atWallMs })
    }
  }
  return rows
}

/** The names that a station held at that time; undefined for none. */
function nameAt(holders: readonly Holder[], call: string, atWallMs: number): string | undefined {
  const held = new Map<string, string | undefined>()
  for (const { name, call: holder, fromWallMs } of holders)
    if (fromWallMs <= atWallMs) held.set(name, holder)
  const names = [...held].flatMap(([name, holder]) => (holder === call ? [name] : []))
  return names.length === 0 ? undefined : names.join(' ')
}
