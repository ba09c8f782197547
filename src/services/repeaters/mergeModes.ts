import type { Rejected } from '../data/rejected.js'
import { geodesicBetween } from '../geo/geodesic.js'
import { isPlaced, type RepeaterEntry } from './entry.js'
import { joinModes } from './modes.js'

/** A row that was read. */
export interface ReadRow {
  readonly line: number
  readonly entry: RepeaterEntry
}

/** Positions of one site differ by rounding; networks with one call on one frequency stand farther apart. */
const sameSiteM = 3000

/**
 * One entry for each repeater, however many rows tell of it: one call on one frequency at one place has all modes of its
 * rows. Rows that contradict each other about the offset or the tone are left out but for the first.
 */
export function mergeModes(rows: readonly ReadRow[]): {
  entries: RepeaterEntry[]
  rejected: Rejected[]
  mergedCount: number
} {
  const merged: ReadRow[] = []
  const atKey = new Map<string, number[]>()
  const rejected: Rejected[] = []
  for (const row of rows) {
    const { entry, line } = row
    const key = `${entry.call || `\0${entry.name}`} ${entry.outputMHz.toFixed(3)}`
    const known = atKey.get(key) ?? []
    const at = known.find((one) => isSameSite(merged[one]!.entry, entry))
    if (at === undefined) {
      // Of a list that repeats one call without end, the first ones are enough to look through.
      if (known.length < 50) atKey.set(key, [...known, merged.length])
      merged.push(row)
      continue
    }
    const first = merged[at]!
    const wrong = contradictionOf(first, row)
    if (wrong === undefined) merged[at] = { line: first.line, entry: together(first.entry, entry) }
    else rejected.push({ ...wrong, line })
  }
  return {
    entries: merged.map(({ entry }) => entry),
    rejected,
    mergedCount: rows.length - merged.length - rejected.length,
  }
}

const isSameSite = (a: RepeaterEntry, b: RepeaterEntry): boolean =>
  !isPlaced(a) ||
  !isPlaced(b) ||
  (a.latitudeDeg === b.latitudeDeg && a.longitudeDeg === b.longitudeDeg) ||
  geodesicBetween(a, b).distanceM <= sameSiteM

function contradictionOf(first: ReadRow, { entry }: ReadRow): Omit<Rejected, 'line'> | undefined {
  const [a, b] = [first.entry, entry]
  const call = a.call || a.name
  const offsets = [a.offset, b.offset].map(({ sign, shiftMHz }) => sign * (shiftMHz ?? 0))
  if (a.offset.sign !== b.offset.sign || Math.abs(offsets[0]! - offsets[1]!) > 0.006)
    return {
      field: 'offset',
      got: `another offset for ${call} than line ${first.line}`,
      expected: 'one offset for one repeater; remove the wrong row',
    }
  const lasting = [a, b].map(({ accessTone }) =>
    accessTone?.kind === 'tone' || accessTone?.kind === 'code' ? JSON.stringify(accessTone) : '',
  )
  if (lasting[0] !== '' && lasting[1] !== '' && lasting[0] !== lasting[1])
    return {
      field: 'tone',
      got: `another tone for ${call} than line ${first.line}`,
      expected: 'one tone for one repeater; remove the wrong row',
    }
  return undefined
}

/** What the row of a continuous tone says of access is what a hand-held needs. */
function together(a: RepeaterEntry, b: RepeaterEntry): RepeaterEntry {
  const rank = ({ accessTone }: RepeaterEntry): number =>
    ['digital', 'burst', 'code', 'tone'].indexOf(accessTone?.kind ?? '')
  const { accessTone } = rank(b) > rank(a) ? b : a
  const { accessTone: _a, closed: _c, offAir: _o, ...rest } = a
  return {
    ...rest,
    name: a.name || b.name,
    mode: joinModes([...a.mode.split('/'), ...b.mode.split('/')]),
    ...(accessTone === undefined ? {} : { accessTone }),
    ...(a.closed && b.closed ? { closed: true } : {}),
    ...(a.offAir && b.offAir ? { offAir: true } : {}),
  }
}
