import type { Clock } from '../../runtime/clock.js'
import type { ClockTrust } from '../../runtime/clockTrust.js'
import type { MessageRecord } from '../../store/messages.js'
import type { Store } from '../../store/store.js'
import type { LetterOptions } from '../connected/letters.js'
import type { Journal } from '../journal.js'
import type { WordingFor } from '../nodeWording.js'
import type { NodeOptions } from '../options.js'
import type { AnnouncedKind } from './announcement.js'

/** A node that entries are exchanged with. */
export interface NeighbourOptions {
  /** what it is connected to by, with SSID */
  readonly call: string
  /** shared with it alone: each line of a session is sealed. Undefined: whoever calls himself so is believed */
  readonly secret?: string | undefined
  /** kinds that are taken from it, and handed to it */
  readonly takes: readonly AnnouncedKind[]
  readonly gives: readonly AnnouncedKind[]
  /** how it is reached; with both by radio only while the broker does not reach it. Absent: by radio */
  readonly by?: readonly ('radio' | 'broker')[] | undefined
}

export const isBy = ({ by = ['radio'] }: NeighbourOptions, way: 'radio' | 'broker'): boolean =>
  by.includes(way)

export interface HillOptions {
  /** what this node is connected to by, with SSID: its name among nodes */
  readonly own: string
  readonly radio: number
  readonly neighbours: readonly NeighbourOptions[]
  /** whether a name is the call sign of a licensed station, as far as its form says */
  readonly isLicensed: (name: string) => boolean
  /** senders without a call sign whose entries may go on the air; lower case */
  readonly senders: readonly string[]
  /** what everybody should know of repeaters and other stations here, at most 67 characters each */
  readonly news: readonly string[]
  /** share of any hour that the key line may be on for all of this, 0 to 1 */
  readonly dutyShare: number
  readonly announceMs: number
  /** no neighbour is called more often */
  readonly everyMs: number
  /** the channel has been free for so long before one is called */
  readonly quietMs: number
}

/** What the parts of it need of the node. */
export interface HillParts {
  readonly clock: Clock
  readonly clockTrust: ClockTrust
  readonly store: Store
  readonly note: Journal
  readonly options: HillOptions
  readonly nodeOptions: NodeOptions
  readonly wording: WordingFor
  /** undefined where no letters are kept */
  readonly letters?: LetterOptions | undefined
  /** inside a transaction */
  readonly newNumber: (call: string) => string
  readonly radioFor: (call: string) => number
  readonly outbox: { add(messages: readonly MessageRecord[]): void }
  /** Tells a station that something waits for it. */
  readonly tellSoon: (call: string) => void
  /** Keeps what another node tells everybody, for the service `bulletins`. */
  readonly tellNews: (node: string, number: number, text: string) => void
  /** what was not committed with the database: a copy that was put in its place knows another number */
  readonly lifeMark?: LifeMark | undefined
}

/** A number beside the database that grows with it, and is not in its back-ups. */
export interface LifeMark {
  /** undefined where there is none, or it cannot be read */
  read(): { readonly epoch: string; readonly step: number } | undefined
  write(mark: { readonly epoch: string; readonly step: number }): void
}

export const dayMs = 86_400_000
export const minuteMs = 60_000
