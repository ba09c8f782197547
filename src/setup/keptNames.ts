import type { HeldName } from '../services/event/namesView.js'
import type { GivenName, NameKeeping } from '../services/event/tacticalNames.js'
import type { ServiceData } from '../store/serviceData.js'
import type { Store } from '../store/store.js'

/** Not own services' keywords. */
const givenRecords = '(tactical names)'
const holderRecords = '(holders of names)'

/** What the operator gave in another event counts no more. */
type KeptName = GivenName & { readonly event: string }

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
export function givenNames(data: Pick<ServiceData, 'all'>, event: string): Map<string, GivenName> {
  const known = new Map<string, GivenName>()
  for (const [name, json] of data.all(givenRecords)) {
    const { event: of, ...given } = JSON.parse(json) as KeptName
    if (of === event) known.set(name, given)
  }
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
export const holders = (data: Pick<ServiceData, 'all'>): readonly Holder[] =>
  [...data.all(holderRecords).values()].map((json) => JSON.parse(json) as Holder)
