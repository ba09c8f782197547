import type { Clock } from '../runtime/clock.js'
import { isRecord } from '../runtime/isRecord.js'
import { isKeptPosition } from '../services/geo/geodesic.js'
import type { Store } from '../store/store.js'
import type { BeaconObject, BeaconOptions } from './beaconOptions.js'
import { objectName, objectPayload } from './beaconPayloads.js'

/** Where the node keeps what it has put on the map; not an own service's keyword. */
const announcedRecords = '(own objects)'

/** Three times, as many as a beacon may get lost in a row; chapter 11 of the reference gives no count. */
const tellingsMax = 3

/** What others were told of, and how often they were told that it is gone. */
interface Announced extends Omit<BeaconObject, 'isToldWhenGone'> {
  readonly toldGone: number
}

/**
 * The objects that there are, and, a few times each, those that were announced and are there no longer (chapter 11: `_` in place of `*`).
 * What was announced is in the database: an object that was taken out of the configuration is told after a restart, too.
 */
export function ownObjects({
  clock,
  store,
  options,
}: {
  readonly clock: Clock
  readonly store: Store
  readonly options: Pick<BeaconOptions, 'objects' | 'schedules'>
}): Uint8Array[] {
  const nowMs = clock.wallMs()
  const objects = options.objects()
  const names = new Set(objects.map(objectName))
  const before = store.serviceData.records(announcedRecords, announcedKind)
  const gone = [...before].filter(([name]) => !names.has(name))
  // Each schedule has its own radios, and stations that hear no other.
  const schedules = options.schedules.filter(({ kind }) => kind === 'objects').length
  store.durably('the objects on the map', () => {
    for (const { isToldWhenGone, ...object } of objects)
      if (isToldWhenGone) remember(store, before, { ...object, toldGone: 0 })
    for (const [name, object] of gone) {
      const toldGone = object.toldGone + 1
      if (toldGone >= tellingsMax * Math.max(1, schedules))
        store.serviceData.delete(announcedRecords, name)
      else remember(store, before, { ...object, toldGone })
    }
  })
  return [
    ...objects.map((object) => objectPayload(object, nowMs)),
    ...gone.map(([, object]) => objectPayload(object, nowMs, false)),
  ]
}

/** What cannot be told would keep the others from being told, each time. */
const announcedKind = {
  expected: 'an object that was announced',
  isOne: (value: unknown): value is Announced =>
    isRecord(value) &&
    Number.isSafeInteger(value.toldGone) &&
    Number(value.toldGone) >= 0 &&
    isKeptPosition(value.position) &&
    [value.name, value.symbol, value.comment].every((text) => typeof text === 'string') &&
    canBeTold(value as unknown as Announced),
}

function canBeTold(object: Announced): boolean {
  try {
    objectPayload(object, 0, false)
    return true
  } catch {
    return false
  }
}

/** What is as it was costs no write. */
function remember(store: Store, before: ReadonlyMap<string, Announced>, object: Announced): void {
  const name = objectName(object)
  const { position, symbol, comment, toldGone } = object
  const { latitudeDeg, longitudeDeg } = position
  const kept = { name, position: { latitudeDeg, longitudeDeg }, symbol, comment, toldGone }
  const json = JSON.stringify(kept)
  if (JSON.stringify(before.get(name)) !== json) store.serviceData.set(announcedRecords, name, json)
}
