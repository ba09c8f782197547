import type { Port } from '../radio/port.js'
import type { Clock } from '../runtime/clock.js'
import type { ClockTrust } from '../runtime/clockTrust.js'
import type { Random } from '../runtime/random.js'
import type { Vocabulary } from '../services/asking/vocabulary.js'
import type { NamesView } from '../services/event/namesView.js'
import type { GeoPosition, Service } from '../services/service.js'
import type { NodeEvent } from '../store/events.js'
import type { Store } from '../store/store.js'
import type { Wordings } from '../words/air/all.js'
import type { MakeConnected } from './connected/connectedMode.js'
import type { MakeDigipeater } from './digipeater/digipeater.js'
import type { EmailLinkState, MakeEmail } from './email/email.js'
import type { EmergencyReport } from './emergencyMarks.js'
import type { FoundEntry, HillState, MakeHills } from './hills/hills.js'
import type { OperatorMessage, Said } from './operatorMessages.js'
import type { NodeOptions } from './options.js'
import type { Ending } from './tally.js'
import type { WaitingFrame } from './transmitter.js'

/** An event, such as a walk or a field day: what it switches while it is on. */
export interface ConfiguredEvent {
  readonly names: NamesView
  /** in place of the node's own; undefined while it is not on */
  status(): string | undefined
  /** texts for everybody; none while it is not on */
  announcements(): readonly string[]
}

/** What a node is made of. The node closes neither the ports nor the store. */
export interface NodeParts {
  readonly ports: readonly Port[]
  readonly clock: Clock
  /** whether what is kept for days may expire; default: one of its own, which knows of no other source of time */
  readonly clockTrust?: ClockTrust
  /** names the boot of the machine that the monotonic clock counts from; undefined where nothing tells */
  readonly bootId?: string | undefined
  readonly random: Random
  /** unique over restarts, databases and processes: part of what services know a question by, and the id of a request */
  readonly nextId: () => string
  readonly store: Store
  readonly services: readonly Service[]
  /** the words that services are asked by; those of the languages that we know unless given */
  readonly vocabulary?: Vocabulary | undefined
  /** the languages that the station speaks; those of the program unless given */
  readonly wordings?: Wordings | undefined
  readonly options: NodeOptions
  /** absent where nothing is repeated */
  readonly digipeater?: MakeDigipeater | undefined
  /** absent where no connection is taken */
  readonly connected?: MakeConnected | undefined
  /** absent where nothing is exchanged with other nodes; goes over connected mode */
  readonly hills?: MakeHills | undefined
  /** absent where no mail goes out */
  readonly email?: MakeEmail | undefined
  /** absent where none is configured */
  readonly event?: ConfiguredEvent | undefined
  /** every event as it happens; it is in the store already, or booked to be */
  readonly onEvent?: (event: NodeEvent) => void
  /** a call for help that was heard; not told again for what the same station sends within ten minutes */
  readonly onEmergency?: (report: EmergencyReport) => void
}

export interface NodeState {
  readonly call: string
  readonly position: GeoPosition | undefined
  /** questions that are being answered now */
  readonly openQuestionCount: number
  /** messages of ours that wait for an acknowledgement, for their turn, or for their station to be heard */
  readonly openMessageCount: number
  /** of those, messages that wait for their station to be heard */
  readonly parkedMessageCount: number
  /** frames that have not gone out, by radio and here, oldest first; at most 100 */
  readonly waiting: readonly WaitingFrame[]
  /** what was given up, refused or left unacknowledged since the start, by reason, most frequent first */
  readonly endings: readonly Ending[]
  readonly mailboxCount: number
  /** services that have nothing to answer out of, by keyword, and why */
  readonly notOffered: readonly { readonly keyword: string; readonly reason: string }[]
  /** absent where nothing is repeated */
  readonly digipeater?: { readonly repeatedCount: number; readonly reasons: readonly Ending[] }
  /** absent where no connection is taken */
  readonly connected?: {
    readonly openCount: number
    readonly counts: Readonly<Record<string, number>>
  }
  /** absent where nothing is exchanged with other nodes */
  readonly hills?: HillState
  /** absent where no mail goes out */
  readonly email?: EmailLinkState
  readonly framesHeardCount: number
  /** mistakes of ours that were caught: at a timer, a frame, a row; each kind is one 'fault' event */
  readonly faultCount: number
}

/** The service node: give it radios and a store, start it, and it converses. */
export interface ServiceNode {
  /**
   * Takes up what a former run left unanswered, and begins to listen and to send beacons.
   * @param options.withoutPast leaves what a former run left where it is
   */
  start(options?: { readonly withoutPast?: boolean }): void
  /** For good: sends nothing more of its own; answers that are being worked on are finished by the next node on the same store. */
  stop(): void
  state(): NodeState
  /** A new position or source of time, from a GPS. */
  setPosition(position: GeoPosition, source: string): void
  setTimeSource(source: string): void
  /** Another station may hold a tactical name now. */
  namesChanged(): void
  /**
   * Takes over other options for whatever comes next: what is under way goes on. Its call, the window of the limits and the
   * telemetry stay.
   */
  setOptions(options: NodeOptions): void
  /** Sends a beacon of this kind now, on the radios and paths of its schedule. */
  beaconNow(kind: string): void
  /** Sends a message as the station. */
  say(message: OperatorMessage): Said
  /**
   * Drops a frame that waits; a message that it carries has ended with it.
   * @returns false when none of this id waits: it is on the air, or over
   */
  drop(id: string, reason: string): boolean
  /** Entries of other nodes and for them, newest first; undefined where nothing is exchanged. @param words that stand in one */
  findEntries(words: string): readonly FoundEntry[] | undefined
  /** Ends an entry at every node that holds it. @returns what is done, in words; undefined for an unknown id */
  withdrawEntry(id: string): string | undefined
}
