import type { Clock } from '../../runtime/clock.js'
import type { ClockTrust } from '../../runtime/clockTrust.js'
import type { MessageRecord } from '../../store/messages.js'
import type { Store } from '../../store/store.js'
import type { Wordings } from '../../words/air/all.js'
import type { Journal } from '../journal.js'
import type { NodeOptions } from '../options.js'
import type { Tally } from '../tally.js'
import type { LookForMail, Submit } from './carrier.js'
import type { EmailOptions } from './emailOptions.js'

/** What the node gives to its mail. */
export interface EmailNeeds {
  readonly clock: Clock
  readonly clockTrust: ClockTrust
  readonly store: Store
  readonly note: Journal
  /** unique over restarts, databases and processes */
  readonly nextId: () => string
  readonly nodeOptions: NodeOptions
  readonly wordings: Wordings
  /** inside a transaction */
  readonly newNumber: (call: string) => string
  /** where a station was heard last, or the first radio */
  readonly radioFor: (call: string) => number
  /** Sends messages that are in the database. */
  readonly send: (messages: readonly MessageRecord[]) => void
  /** Something was left for this station: it is told now, where it was heard lately. */
  readonly somethingWaitsFor: (call: string) => void
}

export interface EmailParts extends EmailNeeds {
  readonly options: EmailOptions
  readonly submit: Submit
  /** absent where no mail comes in */
  readonly look?: LookForMail | undefined
  /** what became of mails, for `state` */
  readonly counts: Tally
}

/** How events name a mail of ours. */
export const emailReference = (id: number): string => `E${id}`
