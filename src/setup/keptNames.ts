import { isRecord } from '../runtime/isRecord.js'
import type { HeldName } from '../services/event/namesView.js'
import type { GivenName, NameKeeping } from '../services/event/tacticalNames.js'
import type { ServiceData } from '../store/serviceData.js'
import type { Store } from '../store/store.js'

/** Not own services' keywords. */
const givenRecords = '(tactical names)'
const holderRecords = '(holders of names)'

/** What the operator gave in another event counts no more. */
type KeptName = GivenName & { readonly event: string }

const isTextOrNothing = (value: unknown): boolean =>
  value === undefined || typeof value === 'string'

/** What rows may hold: one of another version, or a damaged one, has another shape. */
const givenKind = {
  expected: 'who was given a tactical name',
  isOne: (value: unknown): value is KeptName =>
    isRecord(value) &&
    isTextOrNothing(value.call) &&
    Number.isFinite(value.atWallMs) &&
    typeof value.by === 'string' &&
    typeof value.event === 'string',
}
const holderKind = {
  expected: 'who held a tactical name',
  isOne: (value: unknown): value is Holder =>
    isRecord(value) &&
    isTextOrNothing(value.call) &&
    Number.isFinite(value.fromWallMs) &&
    typeof value.name === 'string',
}

/** Names that the operator gave, in the database and here. */
export function keptNames(store: Store, event: string): NameKeeping {
  const known = givenNames(store.serviceData, event)
  return {
    all: () => known,
    set(name, given) {
      const kept = store.durably('a tactical name', () => {
        if (given === undefined) store.serviceData.delete(givenRecords, name)
        else store.serviceData.set(givenRecords, name, JSON.stringify({ ...given, event }))
      })
      if (!kept.ok) return false
      if (given === undefined) known.delete(name)
      else known.set(name, given)
      return true
    },
  }
}

/** What the operator gave in this event. */
export function givenNames(
  data: Pick<ServiceData, 'records'>,
  event: string,
): Map<string, GivenName> {
  const known = new Map<string, GivenName>()
  for (const [name, { event: of, ...given }] of data.records(givenRecords, givenKind))
    if (of === event) known.set(name, given)
  return known
}

/** Who held a name from a time on; nobody without a call. */
export interface Holder {
  readonly name: string
  readonly call?: string | undefined
  readonly fromWallMs: number
}

/** Some weeks of an event with changing crews; the oldest make room. */
const holdersMax = 2_000

/** Keeps who holds the names from now on, for the log of the event. */
export function noteHolders(store: Store, names: readonly HeldName[], wallMs: number): void {
  const before = new Map(holders(store.serviceData).map(({ name, call }) => [name, call]))
  const changed = names.filter(({ name, call }) => !before.has(name) || before.get(name) !== call)
  if (changed.length === 0) return
  store.durably('who holds the tactical names', () => {
    for (const { name, call } of changed) {
      const holder: Holder = { name, ...(call === undefined ? {} : { call }), fromWallMs: wallMs }
      store.serviceData.set(
        holderRecords,
        `${String(wallMs).padStart(15, '0')} ${name}`,
        JSON.stringify(holder),
      )
    }
    const keys = [...store.serviceData.all(holderRecords).keys()]
    for (const key of keys.slice(0, Math.max(0, keys.length - holdersMax)))
      store.serviceData.delete(holderRecords, key)
  })
}

/** Oldest first. */
export const holders = (data: Pick<ServiceData, 'records'>): readonly Holder[] => [
  ...data.records(holderRecords, holderKind).values(),
]
