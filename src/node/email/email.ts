import { type Cancel, every } from '../../runtime/clock.js'
import { errorText } from '../../runtime/errorText.js'
import type { EmailView } from '../../services/service.js'
import type { MailboxEntry } from '../../store/mailbox.js'
import { type Ending, tally } from '../tally.js'
import { alertByEmail, reportByEmail } from './emailEnding.js'
import { takeMail } from './emailInbox.js'
import type { EmailNeeds, EmailParts } from './emailParts.js'
import { emailQueue } from './emailQueue.js'
import { emailWriting } from './emailWriting.js'

/** Mail to addresses outside and from them, for a node. */
export interface EmailLink {
  readonly view: EmailView
  /** Inside the transaction that ends a mailbox entry that came by mail: tells its sender. */
  entryEnded(entry: MailboxEntry, state: 'delivered' | 'refused' | 'expired'): void
  /** A mail of the station itself. @returns why it cannot go, in words; undefined where it is on the disk */
  alert(to: string, text: string): string | undefined
  start(): void
  stop(): void
  readonly state: EmailLinkState
}

export interface EmailLinkState {
  readonly waitingCount: number
  /** why nothing went the last time; undefined where the server was reached */
  readonly trouble: string | undefined
  /** what became of mails since the start, by reason */
  readonly counts: readonly Ending[]
}

/** Given to createNode only where it is configured. */
export type MakeEmail = (needs: EmailNeeds) => EmailLink

const minuteMs = 60_000
const givenAtOnce = 500

export function emailLink(given: Omit<EmailParts, 'counts'>): EmailLink {
  const parts: EmailParts = { ...given, counts: tally() }
  const { clock, store, options, clockTrust, counts, note } = parts
  const queue = emailQueue(parts)
  let cancels: Cancel[] = []
  let looking = false
  let running = false

  const eachMinute = (): void => {
    if (!clockTrust.trusted()) return
    store.durably('when mail expires', () =>
      store.emails.trustExpiry(clock.wallMs() + options.keepMs, givenAtOnce),
    )
    queue.expire()
  }

  const look = (): void => {
    if (looking || parts.look === undefined) return
    looking = true
    parts
      .look((mail, key) => {
        if (!running) return { kind: 'later', reason: 'the node has stopped' }
        const taken = takeMail(parts, mail, key)
        if (taken.kind === 'refused') {
          counts.note('not taken', taken.reason)
          note('refused', `mail from ${mail.from.slice(0, 100)}`, { reason: taken.reason })
        } else counts.note(taken.kind === 'taken' ? 'taken' : 'not taken yet', '')
        return taken
      })
      .catch((error: unknown) => note('fault', 'looking for mail', { reason: errorText(error) }))
      .finally(() => {
        looking = false
        // Reports to who wrote were perhaps kept.
        queue.soon()
      })
  }

  return {
    view: emailWriting(parts, queue.soon),
    entryEnded(entry, state) {
      reportByEmail(parts, entry, state)
      queue.soon()
    },
    alert(to, text) {
      const problem = alertByEmail(parts, to, text)
      queue.soon()
      return problem
    },
    start() {
      running = true
      queue.start()
      cancels = [every(clock, minuteMs, eachMinute)]
      if (parts.look === undefined) return
      cancels.push(every(clock, options.inbox.lookMs, look))
      look()
    },
    stop() {
      running = false
      for (const cancel of cancels) cancel()
      queue.stop()
    },
    get state() {
      return {
        waitingCount: store.reading('mail', 0, () => store.emails.waitingCount),
        trouble: queue.trouble,
        counts: counts.endings,
      }
    },
  }
}
