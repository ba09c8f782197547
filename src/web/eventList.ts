import type { z } from 'zod'
import { type EventKind, eventKinds } from '../store/events.js'
import type { Visitor } from './access.js'
import { eventView } from './conversationViews.js'
import type { PageParts } from './parts.js'
import type { EventView, eventsQuery } from './schemas.js'

/** What those who may only read what was on the air are not told: clients' addresses, the operator's hand, our own faults. */
export const hiddenKinds: ReadonlySet<string> = new Set(['client', 'control', 'fault', 'settings'])

/** Oldest first. */
export function eventList(
  { store }: PageParts,
  { after, since, station, kind, limit }: z.output<typeof eventsQuery>,
  { right }: Visitor,
): EventView[] {
  const wanted = kind?.split(',') ?? []
  const asked = eventKinds.filter((one) => wanted.length === 0 || wanted.includes(one))
  const kinds = asked.filter((one) => right !== 'public' || !hiddenKinds.has(one))
  if (kinds.length === 0) return []
  const filter = { afterId: after, sinceWallMs: since, station, limit }
  // All kinds need no filter, which would cost a search each.
  const isAll = kinds.length === eventKinds.length
  return store.events
    .query(isAll ? filter : { ...filter, kinds: kinds as EventKind[] })
    .map(eventView)
}
