import type { Clock } from '../runtime/clock.js'
import type { EventKind, NodeEvent } from '../store/events.js'
import type { Store } from '../store/store.js'

export interface EventDetail {
  readonly radio?: number | undefined
  readonly station?: string | undefined
  readonly reference?: string | undefined
  readonly reason?: string | undefined
}

/** Tells and keeps what happens. */
export type Journal = (kind: EventKind, text: string, detail?: EventDetail) => void

export function journal(
  store: Store,
  clock: Clock,
  onEvent: ((event: NodeEvent) => void) | undefined,
): Journal {
  return (kind, text, detail = {}) => {
    const event: NodeEvent = { atWallMs: clock.wallMs(), kind, text, ...detail }
    store.events.add(event)
    onEvent?.(event)
  }
}

/** How events name a question, a message of ours, a mailbox entry. */
export const questionReference = (id: number): string => `Q${id}`
/** out of the unique id that services know it by */
export const referenceOfUniqueId = (uniqueId: string): string => uniqueId.split('-')[0]!
export const messageReference = (id: number): string => `M${id}`
export const mailboxReference = (id: number): string => `B${id}`
