import type { Clock } from '../runtime/clock.js'
import type { ClockTrust } from '../runtime/clockTrust.js'
import type { NamesView } from '../services/event/namesView.js'
import type { MailboxEntry } from '../store/mailbox.js'
import type { Store } from '../store/store.js'
import type { Journal } from './journal.js'
import type { WordingFor } from './nodeWording.js'
import type { NodeOptions } from './options.js'
import type { Outbox } from './outbox.js'

/** What the parts of the mailbox are made of. */
export interface MailParts {
  readonly clock: Clock
  readonly clockTrust: ClockTrust
  readonly store: Store
  readonly note: Journal
  readonly options: NodeOptions
  readonly wording: WordingFor
  readonly outbox: () => Outbox
  /** came from another node, which tells its sender; absent where there is none */
  readonly isFromElsewhere?: ((questionId: string) => boolean) | undefined
  /** Inside the transaction that ends an entry that came by mail: its sender is told by mail. */
  readonly emailEnded?:
    | ((entry: MailboxEntry, state: 'delivered' | 'refused' | 'expired') => void)
    | undefined
  /** What another node has of this question is to be ended there. @returns false where nobody can be told */
  readonly withdrawElsewhere?: ((questionId: string) => boolean) | undefined
  /** the tactical names of an event; absent where none is configured */
  readonly names?: NamesView | undefined
  /** inside a transaction */
  readonly newNumber: (call: string) => string
}
