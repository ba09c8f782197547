import type {
  IncomingMail,
  OutgoingMail,
  Submitted,
  Taken,
} from '../../../src/node/email/carrier.js'
import { type EmailLink, emailLink } from '../../../src/node/email/email.js'
import type { EmailOptions } from '../../../src/node/email/emailOptions.js'
import type { EmailParts } from '../../../src/node/email/emailParts.js'
import type { NodeOptions } from '../../../src/node/options.js'
import { tally } from '../../../src/node/tally.js'
import type { Failure } from '../../../src/runtime/failure.js'
import { type VirtualClock, virtualClock } from '../../../src/runtime/virtualClock.js'
import type { Question } from '../../../src/services/service.js'
import { defaultNodeOptions, type OptionsChange } from '../../../src/setup/defaultOptions.js'
import type { Email } from '../../../src/store/emails.js'
import type { MessageRecord } from '../../../src/store/messages.js'
import type { Store } from '../../../src/store/store.js'
import { standardWordings } from '../../../src/words/air/all.js'
import { openTestStore } from '../../store/openTestStore.js'
import { failingStore } from '../failingStore.js'

export const minuteMs = 60_000
export const hourMs = 60 * minuteMs
export const dayMs = 24 * hourMs

const mailOptions: EmailOptions = {
  ...{ from: 'hill@station.example', senders: ['N0CALL'], receivers: ['*@example.org'] },
  ...{ names: { hut: 'hut@mountain.example' }, namesPerSender: 2, namesTotal: 3 },
  ...{ perSenderDay: 5, perDay: 50, waitingMax: 200, textOctets: 100, keepMs: 7 * dayMs },
  ...{ retryMs: 5 * minuteMs, retryMaxMs: 4 * hourMs, footer: '' },
  inbox: {
    ...{ isOpen: true, senders: ['anna@example.org'], answers: true, messagesMax: 3 },
    lookMs: 2 * minuteMs,
  },
}

export type MailChange = Partial<Omit<EmailOptions, 'inbox'>> & {
  readonly inbox?: Partial<EmailOptions['inbox']>
}

/** The mail of a node without the node: the real database, and what it says and sends is kept. */
export interface MailAlone {
  readonly parts: EmailParts
  readonly clock: VirtualClock
  readonly store: Store
  readonly faults: Failure[]
  /** 'KIND TEXT (STATION REFERENCE: REASON)' */
  readonly events: string[]
  /** messages that were handed to the radio: 'TO: TEXT' */
  readonly told: string[]
  readonly messages: MessageRecord[]
  /** stations for whom something was left */
  readonly waitsFor: string[]
  /** the clock is right */
  trusted: boolean
  /** names of the transactions that the disk does not take */
  readonly failing: Set<string>
  /** the database cannot be read */
  unreadable: boolean
  /** mails that were given to the server */
  readonly mails: OutgoingMail[]
  /** what the server says in turn; then it takes all */
  readonly replies: (Submitted | Promise<Submitted>)[]
  /** what lies in the inbox */
  readonly inbox: Map<string, IncomingMail>
  lookCount: number
  /** the next look fails with this, or ends when it does */
  nextLook: Promise<void> | undefined
  link(more?: { readonly withoutInbox?: boolean }): EmailLink
  email(id: number): Email | undefined
  /** lets promises settle */
  advance(ms: number): Promise<void>
}

export const accepted: Submitted = { kind: 'accepted', reply: '250 OK' }
export const noLink: Submitted = { kind: 'no-link', reason: 'no server' }

export function mailAlone(
  change: MailChange = {},
  {
    node = {},
    clock = virtualClock(Date.UTC(2026, 5, 21)),
    store: given = undefined as Store | undefined,
  }: {
    readonly node?: OptionsChange<NodeOptions>
    readonly clock?: VirtualClock
    readonly store?: Store | undefined
  } = {},
): MailAlone {
  const opened = given === undefined ? openTestStore(':memory:', clock) : undefined
  const base = given ?? opened!.store
  const failing = new Set<string>()
  const store = failingStore(
    base,
    (doing) => failing.has(doing) || (alone.unreadable && doing === 'mail'),
  )
  const options: EmailOptions = {
    ...{ ...mailOptions, ...change },
    inbox: { ...mailOptions.inbox, ...change.inbox },
  }
  let id = 0
  let number = 0
  const parts: EmailParts = {
    ...{ clock, store, options, wordings: standardWordings, counts: tally() },
    clockTrust: {
      ...{ trusted: () => alone.trusted, confirmed: () => alone.trusted },
      ...{ steps: { count: 0, lastMs: 0 }, gpsSays: () => {}, wasAhead: () => {} },
    },
    note: (kind, text, { station = '', reference = '', reason = '' } = {}) =>
      alone.events.push(`${kind} ${text} (${station} ${reference}: ${reason})`),
    nextId: () => `id${++id}`,
    nodeOptions: defaultNodeOptions({ call: 'N0DE-10', ...node }),
    newNumber: (call) => `${call.length}${++number}`,
    radioFor: (call) => (call === 'N0CALL-7' ? 1 : 0),
    send(messages) {
      alone.messages.push(...messages)
      alone.told.push(...messages.map(({ to, text }) => `${to}: ${text}`))
    },
    somethingWaitsFor: (call) => alone.waitsFor.push(call),
    async submit(mail) {
      alone.mails.push(mail)
      return alone.replies.shift() ?? accepted
    },
    async look(take) {
      alone.lookCount++
      const first = alone.nextLook
      alone.nextLook = undefined
      await first
      for (const [key, mail] of alone.inbox) {
        const taken: Taken = take(mail, key)
        if (taken.kind !== 'later') alone.inbox.delete(key)
      }
    },
  }
  const alone: MailAlone = {
    ...{ parts, clock, store, faults: opened?.faults ?? [], events: [], told: [], messages: [] },
    ...{ waitsFor: [], trusted: true, failing, unreadable: false, mails: [], replies: [] },
    ...{ inbox: new Map(), lookCount: 0, nextLook: undefined },
    link({ withoutInbox = false } = {}) {
      const { counts: _, look, ...needs } = parts
      return emailLink(withoutInbox ? needs : { ...needs, look })
    },
    email: (wanted) => base.emails.find(wanted),
    async advance(ms) {
      const toMs = clock.monotonicMs() + ms
      // a try is a longer chain of promises than the clock waits for
      for (let turn = 0; turn < 8; turn++) await clock.advanceToAsync(clock.monotonicMs())
      await clock.advanceToAsync(toMs)
      for (let turn = 0; turn < 8; turn++) await clock.advanceToAsync(toMs)
    },
  }
  return alone
}

let asked = 0

export const question = (from = 'N0CALL-7', id = `${++asked}-q`): Question => ({
  ...{ id, from, text: '', rest: '', words: [] },
})

export const anna = { name: 'anna', address: 'anna@example.org' }

/** A mail from Anna to the station, for N0CALL-7 by its subject. */
export const incoming = (change: Partial<IncomingMail> = {}): IncomingMail => ({
  ...{ messageId: '<m1@example.org>', references: [], from: 'anna@example.org' },
  ...{ to: ['hill@station.example'], subject: 'N0CALL-7 dinner', text: 'Dinner at six?' },
  ...{ automatic: false, returned: [], ...change },
})
