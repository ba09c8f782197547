import type { Question } from '../services/service.js'
import type { MailboxEntry } from '../store/mailbox.js'
import type { MessageRecord } from '../store/messages.js'
import { outOfOrder } from './mailLeaving.js'
import { carrierOf, promptFor } from './mailMessages.js'
import type { MailParts } from './mailParts.js'
import { waitingFor } from './mailRules.js'
import type { MailboxOptions } from './options.js'

/** A receiver that did not acknowledge, and is heard again, is tried again only so long after. */
const tryAgainMs = 15 * 60_000

/** Brings what waits to its receivers: they are told of it and ask for it, or, by option, get it when they are heard. */
export interface MailHandingOver {
  stationHeard(call: string, radio: number): void
  collect(question: Question): MailboxEntry[] | 'out-of-order'
  /** Inside the transaction that answers a question: messages for what it collected. */
  collectedBy(questionId: string, radio: number): MessageRecord[]
  /** Notes that an entry has just been tried in vain. */
  tried(entryId: number): void
  /** What is under way to who no longer holds its name is taken back: it waits for who does. */
  namesChanged(): void
  stop(): void
}

/** Its receiver may be told again that it waits. */
const isPromptDue = (
  { promptedWallMs, promptCount }: MailboxEntry,
  { promptsMax, promptEveryMs }: MailboxOptions,
  wallMs: number,
): boolean =>
  promptCount < promptsMax &&
  (promptedWallMs === undefined || Math.abs(wallMs - promptedWallMs) >= promptEveryMs)

export function mailHandingOver(parts: MailParts): MailHandingOver {
  const { clock, store } = parts
  const limits = parts.options.mailbox
  const lastTryMs = new Map<number, number>()
  /** questions that have collected and are not answered yet */
  const collecting = new Set<string>()
  let stopped = false

  const tried = (entryId: number): void => {
    const nowMs = clock.monotonicMs()
    for (const [id, atMs] of lastTryMs) if (nowMs - atMs > tryAgainMs) lastTryMs.delete(id)
    lastTryMs.set(entryId, nowMs)
  }

  /** Inside a transaction. */
  const carry = (entry: MailboxEntry, radio: number): MessageRecord =>
    store.messages.insert(carrierOf(entry, radio, clock.wallMs()))

  const handOver = (call: string, radio: number, waiting: readonly MailboxEntry[]): void => {
    const nowMs = clock.monotonicMs()
    const due = waiting.filter(({ id }) => nowMs - (lastTryMs.get(id) ?? -tryAgainMs) >= tryAgainMs)
    if (due.length === 0) return
    const started = store.durably('handing over what waits', () =>
      due.map((entry) => {
        store.mailbox.setSending(entry.id, entry.number ?? parts.newNumber(call), call)
        return carry(store.mailbox.find(entry.id)!, radio)
      }),
    )
    if (!started.ok) return
    for (const { id } of due) tried(id)
    parts.outbox().add(started.value)
  }

  const prompt = (call: string, radio: number, waiting: readonly MailboxEntry[]): void => {
    const wallMs = clock.wallMs()
    if (!waiting.some((entry) => isPromptDue(entry, limits, wallMs))) return
    const noted = store.durably('telling that something waits', () => {
      store.mailbox.notePrompt(
        waiting.map(({ id }) => id),
        wallMs,
      )
      const message = { number: parts.newNumber(call), radio, wallMs }
      return store.messages.insert(promptFor(call, waiting.length, message, parts.wording()))
    })
    if (noted.ok) parts.outbox().add([noted.value])
  }

  return {
    stationHeard(call, radio) {
      const waiting = store.reading('the mailbox', [], () => waitingFor(parts, call))
      if (stopped || waiting.length === 0) return
      if (limits.deliver === 'at-once') handOver(call, radio, waiting)
      else {
        const [wanted, others] = sharedOut(parts, waiting, call)
        handOver(call, radio, wanted)
        prompt(call, radio, others)
      }
    },
    collect(question) {
      const taken = store.durably('what a station collects', () => {
        for (const entry of waitingFor(parts, question.from)) {
          const number = entry.number ?? parts.newNumber(question.from)
          store.mailbox.setSending(entry.id, number, question.from, question.id)
        }
        // What is under way to it already counts: it follows, too.
        const taken = store.mailbox.collectedBy(question.id)
        const ids = new Set(taken.map(({ id }) => id))
        const underWay = store.mailbox.sendingTo(question.from).filter(({ id }) => !ids.has(id))
        return [...taken, ...underWay]
      })
      if (!taken.ok) return outOfOrder(parts, question).reason
      collecting.add(question.id)
      return taken.value
    },
    collectedBy(questionId, radio) {
      // Who collected nothing is answered also while the mailbox cannot be read.
      if (!collecting.delete(questionId)) return []
      return store.mailbox
        .collectedBy(questionId)
        .filter(({ id, state }) => state === 'sending' && !parts.outbox().hasOpen(id))
        .map((entry) => carry(entry, radio))
    },
    tried,
    namesChanged: () => takeBackFromFormer(parts, lastTryMs),
    stop() {
      stopped = true
    },
  }
}

/** What goes to a station unasked: what it asked for before and did not get, and what is for its name; and the others. */
function sharedOut(
  { names }: MailParts,
  waiting: readonly MailboxEntry[],
  call: string,
): readonly [wanted: MailboxEntry[], others: MailboxEntry[]] {
  const isWanted = ({ to, collectedBy }: MailboxEntry): boolean =>
    collectedBy === call || names?.holder(to) === call
  return [waiting.filter(isWanted), waiting.filter((one) => !isWanted(one))]
}

/** What is under way to who no longer holds its name waits for who does. */
function takeBackFromFormer(parts: MailParts, lastTryMs: Map<number, number>): void {
  const { names, store } = parts
  if (names === undefined) return
  const held = new Map(names.all().map(({ name, call }) => [name, call]))
  const sending = store.reading('the mailbox', [], () => store.mailbox.sending())
  for (const { id, to, collectedBy } of sending) {
    if (!held.has(to) || held.get(to) === collectedBy) continue
    parts.outbox().giveUpCarrier(id, 'its name is held by another station now')
    lastTryMs.delete(id)
  }
}
