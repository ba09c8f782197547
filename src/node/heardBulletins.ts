import type { AprsPayload } from '../aprs/types.js'
import type { Clock } from '../runtime/clock.js'
import {
  type BulletinRecord,
  bulletinKind,
  bulletinRecords,
  type ObjectRecord,
  objectKind,
  objectRecords,
} from '../services/bulletins.js'
import type { RecordKind } from '../store/serviceData.js'
import type { Store } from '../store/store.js'
import { isOwnGroup } from './addressing.js'
import type { Heard } from './intake.js'
import { rateLimit } from './rateLimit.js'

export interface HeardBulletins {
  /** Keeps a bulletin, an announcement, a message to a group or an object that others sent. */
  take(heard: Pick<Heard, 'from' | 'payload'>): void
}

/** Of each kind; the one that was heard longest ago makes room. */
const keptMax = 60
/** Each is a write to the disk. Who repeats what is known costs one in half an hour. */
const writesPerHourMax = 120
const againMs = 30 * 60_000
const hourMs = 3_600_000

/** What everybody is told on the channel, kept for the service `bulletins`. */
export function heardBulletins({
  clock,
  store,
  options,
}: {
  readonly clock: Clock
  readonly store: Store
  readonly options: { readonly groups: readonly string[] }
}): HeardBulletins {
  const writes = rateLimit(hourMs)

  const keep = <Kept extends BulletinRecord | ObjectRecord>(
    service: string,
    kind: RecordKind<Kept>,
    key: string,
    record: Kept,
  ): void => {
    const all = store.serviceData.records(service, kind)
    const { atWallMs, ...said } = record
    const before = all.get(key)
    if (before !== undefined) {
      const { atWallMs: beforeMs, ...known } = before
      const isSame = JSON.stringify(known) === JSON.stringify(said)
      if (isSame && Math.abs(atWallMs - beforeMs) < againMs) return
    }
    // What is left out does not count: a flood without end would else keep out everything, for as long as it lasts.
    const nowMs = clock.monotonicMs()
    if (writes.count('', nowMs) >= writesPerHourMax) return
    writes.note('', nowMs)
    store.durably('a bulletin that was heard', () => {
      if (before === undefined && all.size >= keptMax) {
        const oldest = farthestFrom(atWallMs, all)
        if (oldest !== undefined) store.serviceData.delete(service, oldest)
      }
      store.serviceData.set(service, key, JSON.stringify(record))
    })
  }

  const forget = (key: string, from: string): void => {
    const before = store.serviceData.records(objectRecords, objectKind).get(key)
    // Only its own sender says that an object is gone.
    if (before?.from !== from) return
    store.durably('an object that is gone', () => store.serviceData.delete(objectRecords, key))
  }

  return {
    take({ from, payload }) {
      const atWallMs = clock.wallMs()
      const bulletin = bulletinOf(payload, options)
      if (bulletin !== undefined) {
        const key = `${from} ${bulletin.group ?? ''} ${bulletin.id}`
        const said = { from, atWallMs, text: bulletin.text, ...groupOf(bulletin) }
        keep(bulletinRecords, bulletinKind, key, said)
      } else if (payload.kind === 'object' || payload.kind === 'item') {
        const key = `${payload.name.trim()}`
        if (!payload.live) return forget(key, from)
        const { latitudeDeg, longitudeDeg } = payload.position
        const place = { latitudeDeg: rounded(latitudeDeg), longitudeDeg: rounded(longitudeDeg) }
        const said = { from, atWallMs, text: payload.comment, ...place }
        keep(objectRecords, objectKind, key, said)
      }
    },
  }
}

const groupOf = ({ group }: { readonly group?: string | undefined }) =>
  group === undefined ? {} : { group }

/** A hundred metres or so: what drifts within its error is in the same place. */
const rounded = (degrees: number): number => Number(degrees.toFixed(3))

function bulletinOf(
  payload: AprsPayload,
  own: { readonly groups: readonly string[] },
): { readonly id: string; readonly group?: string | undefined; readonly text: string } | undefined {
  if (payload.kind === 'bulletin') return payload
  // A message to a group of people: its sender has one of them standing at a time.
  return payload.kind === 'message' && isOwnGroup(payload.addressee, own)
    ? { id: '', group: payload.addressee.trim(), text: payload.text }
    : undefined
}

/** The oldest, or what was kept while the clock was ahead: that would never be the oldest. */
function farthestFrom(
  nowWallMs: number,
  all: ReadonlyMap<string, { readonly atWallMs: number }>,
): string | undefined {
  const distances = [...all].map(
    ([key, { atWallMs }]) => [key, Math.abs(nowWallMs - atWallMs)] as const,
  )
  return distances.sort(([, a], [, b]) => b - a)[0]?.[0]
}
