import type { Journal } from '../../src/node/journal.js'
import { type Mail, mail } from '../../src/node/mail.js'
import type { MailParts } from '../../src/node/mailParts.js'
import type { MailboxOptions } from '../../src/node/options.js'
import type { Outbox } from '../../src/node/outbox.js'
import { virtualClock } from '../../src/runtime/virtualClock.js'
import type { NamesView } from '../../src/services/event/namesView.js'
import type { Question } from '../../src/services/service.js'
import { defaultNodeOptions } from '../../src/setup/defaultOptions.js'
import type { NodeEvent } from '../../src/store/events.js'
import type { MailboxEntry, NewMailboxEntry } from '../../src/store/mailbox.js'
import type { MessageRecord, NewMessage } from '../../src/store/messages.js'
import { openStore } from '../../src/store/store.js'
import { inEnglish } from '../../src/words/air/all.js'
import { failingStore } from './failingStore.js'
import { trustedClock } from './trustedClock.js'

export const minuteMs = 60_000
export const hourMs = 60 * minuteMs
export const dayMs = 24 * hourMs

export const question = (from: string, id = 'Q1-x'): Question => ({
  ...{ id, from, text: '', words: [], rest: '' },
})

/** Tactical names with who holds them now; 'nobody' for none. */
export const heldNames = (held: Record<string, string>): NamesView => {
  const holder = (name: string) => (held[name] === 'nobody' ? undefined : held[name])
  return {
    nameOf: (word) => (word.toUpperCase() in held ? word.toUpperCase() : undefined),
    holder,
    heldBy: (call) => Object.keys(held).filter((name) => held[name] === call),
    all: () => Object.keys(held).map((name) => ({ name, call: holder(name) })),
  } as Partial<NamesView> as NamesView
}

/** The mailbox on a store in memory and a virtual clock; what it gives to the outbox stays there. */
export function mailBench(options: Partial<MailboxOptions> = {}, given: Partial<MailParts> = {}) {
  const clock = virtualClock()
  const store = openStore({ file: ':memory:', clock })
  const world = { failing: '', open: [] as number[] }
  const events: Omit<NodeEvent, 'atWallMs'>[] = []
  const outgoing: MessageRecord[] = []
  /** carriers that were given up: 'B1: reason' */
  const givenUp: string[] = []
  const note: Journal = (kind, text, detail) => void events.push({ kind, text, ...detail })
  let number = 100
  const parts: MailParts = {
    ...{ clock, note, clockTrust: trustedClock, wording: () => inEnglish },
    store: failingStore(store, (doing) => doing === world.failing),
    options: defaultNodeOptions({ call: 'N0DE-10', mailbox: options }),
    newNumber: () => `${++number}`,
    outbox: () =>
      ({
        add: (messages) => void outgoing.push(...messages),
        giveUpCarrier: (id, reason) => void givenUp.push(`B${id}: ${reason}`),
        hasOpen: (id) => world.open.includes(id),
      }) as Partial<Outbox> as Outbox,
    ...given,
  }
  const box: Mail = mail(parts)
  const durably = <Value>(work: () => Value): Value => {
    const done = store.durably('test', work)
    if (!done.ok) throw done.failure
    return done.value
  }
  const entry = (change: Partial<NewMailboxEntry> = {}): MailboxEntry =>
    durably(() =>
      store.mailbox.insert({
        ...{ questionId: `Q${store.mailbox.recent(1000).length + 1}-e`, from: 'N0CALL-7' },
        ...{ to: 'N0CALL-8', text: 'hello', leftWallMs: clock.wallMs(), expiryTrusted: true },
        ...{ expiresWallMs: clock.wallMs() + 7 * dayMs, ...change },
      }),
    )
  let told = 0

  return {
    ...{ store, clock, world, events, givenUp, outgoing, parts, box, durably, entry },
    /** An entry that is under way to the station that collected it. */
    sending(change: Partial<NewMailboxEntry> = {}, by = 'N0CALL-8', asked?: string): MailboxEntry {
      const { id } = entry(change)
      durably(() => store.mailbox.setSending(id, '55', by, asked))
      return store.mailbox.find(id)!
    },
    /** A station that was heard so long ago. */
    heard(call: string, agoMs = 0, radio = 0): void {
      store.stations.add({ ...{ call, radio, via: [] }, atWallMs: clock.wallMs() - agoMs })
    },
    /** What the outbox was given since the last call: 'kind to NUMBER: text'. */
    given(): string[] {
      const all = outgoing.slice(told)
      told = outgoing.length
      return all.map(({ kind, to, number, text }) => `${kind} to ${to} ${number}: ${text}`)
    },
    /** A message in the database that carries an entry. */
    carrier: (change: Partial<NewMessage> = {}): MessageRecord =>
      durably(() =>
        store.messages.insert({
          ...{ kind: 'mailbox', to: 'N0CALL-8', number: '55', replyTo: undefined, text: 'x' },
          ...{ questionId: undefined, mailboxId: 1, radio: 2, state: 'waiting' },
          ...{ createdWallMs: clock.wallMs(), notAfterWallMs: clock.wallMs() + hourMs, ...change },
        }),
      ),
    states: (): string[] =>
      store.mailbox
        .recent(1000)
        .map(
          ({ id, state, reason }) => `B${id} ${state}${reason === undefined ? '' : `: ${reason}`}`,
        ),
  }
}
