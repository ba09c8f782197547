import type { Clock } from '../runtime/clock.js'
import { type ClockTrust, wallAgeMs } from '../runtime/clockTrust.js'
import { keptText } from '../services/airText.js'
import type { LeaveResult, MailboxView, Question } from '../services/service.js'
import type { MailboxEntry } from '../store/mailbox.js'
import type { MessageRecord, MessageState } from '../store/messages.js'
import type { Store } from '../store/store.js'
import { type Journal, mailboxReference, referenceOfUniqueId } from './journal.js'
import { carrierOf, promptFor, reportOn } from './mailMessages.js'
import { knownEntry, receiverOf, refusalOf } from './mailRules.js'
import type { MailboxOptions, ResolvedOptions } from './options.js'
import type { Outbox } from './outbox.js'

/** Messages that people leave for each other: kept, announced, handed over once, and reported to their senders. */
export interface Mail extends MailboxView {
  /** To be called inside the transaction that answers a question: messages for what the question collected. */
  collectedBy(questionId: string, radio: number): MessageRecord[]
  /** Tells a station, or by option hands over, what waits for it. */
  stationHeard(call: string, radio: number): void
  /** Inside the transaction that ends a message of ours that carries an entry. */
  carrierEnded(
    message: MessageRecord,
    state: MessageState,
    reason: string | undefined,
  ): MessageRecord[]
  /** Ends what waits past its time; to be called now and then, while the clock is trusted. */
  expire(): void
  /** Puts entries back whose carrier was lost in a crash. */
  start(): void
  stop(): void
}

export interface MailParts {
  readonly clock: Clock
  readonly clockTrust: ClockTrust
  readonly store: Store
  readonly note: Journal
  readonly options: ResolvedOptions
  readonly outbox: () => Outbox
  /** inside a transaction */
  readonly newNumber: (call: string) => string
}

/** A receiver that did not acknowledge, and is heard again, is tried again only so long after. */
const tryAgainMs = 15 * 60_000
/** A receiver heard within this is told at once when something is left for it. */
const heardLatelyMs = 10 * 60_000

export function mail(parts: MailParts): Mail {
  const { clock, store, note, options } = parts
  const limits: MailboxOptions = options.mailbox
  const lastTryMs = new Map<number, number>()
  /** questions that have collected and are not answered yet */
  const collecting = new Set<string>()
  let stopped = false

  /** The sender is told, and so is who can mend it. */
  const outOfOrder = ({ from, id }: Question) => {
    const reason = 'its database cannot be used: nothing is taken, or handed out, until it can'
    note('fault', 'the mailbox', { station: from, reference: referenceOfUniqueId(id), reason })
    return { ok: false, reason: 'out-of-order' } as const
  }

  const leave = (question: Question, toCall: string, sentText: string): LeaveResult => {
    const text = keptText(sentText)
    const to = receiverOf(toCall, options)
    if (to === undefined) return { ok: false, reason: 'bad-call' }
    const refusal = store.reading('the mailbox', 'out-of-order' as const, () =>
      refusalOf(store, limits, question, to, text),
    )
    if (refusal === 'out-of-order') return outOfOrder(question)
    if (refusal !== undefined) return { ok: false, reason: refusal }
    const leftWallMs = clock.wallMs()
    const kept = store.durably('a message that somebody leaves', () => {
      const known = knownEntry(store, question, to, text)
      const entry =
        known ??
        store.mailbox.insert({
          questionId: question.id,
          from: question.from,
          to,
          text,
          leftWallMs,
          expiresWallMs: leftWallMs + limits.keepMs,
          expiryTrusted: parts.clockTrust.trusted(),
        })
      return {
        known: known !== undefined,
        entry,
        waitingCount: store.mailbox.openCountFor(to),
      }
    })
    if (!kept.ok) return outOfOrder(question)
    const { entry, known, waitingCount } = kept.value
    if (!known) {
      const reference = mailboxReference(entry.id)
      note('left', `for ${to}: ${text}`, { station: question.from, reference })
      const receiver = store.stations.find(to)
      const heardAgoMs = receiver && wallAgeMs(receiver.lastHeardWallMs, leftWallMs)
      if (receiver && heardAgoMs !== undefined && heardAgoMs < heardLatelyMs) {
        // after the answer to the one who left it
        clock.at(clock.monotonicMs(), () => stationHeard(to, receiver.radio))
      }
    }
    return { ok: true, waitingCount }
  }

  const collect = (question: Question): MailboxEntry[] | 'out-of-order' => {
    const taken = store.durably('what a station collects', () => {
      for (const entry of store.mailbox.waitingFor(question.from)) {
        const number = entry.number ?? parts.newNumber(question.from)
        store.mailbox.setSending(entry.id, number, question.from, question.id)
      }
      // What is under way to it already counts: it follows, too.
      const taken = store.mailbox.collectedBy(question.id)
      const ids = new Set(taken.map(({ id }) => id))
      const underWay = store.mailbox.sendingTo(question.from).filter(({ id }) => !ids.has(id))
      return [...taken, ...underWay]
    })
    if (!taken.ok) return outOfOrder(question).reason
    collecting.add(question.id)
    return taken.value
  }

  /** Inside a transaction. */
  const carry = (entry: MailboxEntry, radio: number): MessageRecord =>
    store.messages.insert(carrierOf(entry, radio, clock.wallMs()))

  /** Inside a transaction: the end of an entry, and the report of it to its sender. */
  const endEntry = (
    entry: MailboxEntry,
    state: 'delivered' | 'refused' | 'expired',
    radio: number,
    reason?: string,
  ): MessageRecord => {
    store.mailbox.end(entry.id, state, clock.wallMs(), reason)
    const to = entry.collectedBy ?? entry.to
    note(state === 'refused' ? 'rejected' : state, `from ${entry.from}: ${entry.text}`, {
      station: to,
      reference: mailboxReference(entry.id),
      reason,
    })
    const life = { wallMs: clock.wallMs(), keepMs: limits.keepMs }
    const number = parts.newNumber(entry.from)
    return store.messages.insert(reportOn(entry, state, number, radio, life))
  }

  const stationHeard = (call: string, radio: number): void => {
    const waiting = store.reading('the mailbox', [], () => store.mailbox.waitingFor(call))
    if (stopped || waiting.length === 0) return
    // It has asked for these, and did not get them: it need not ask again.
    const asked = waiting.filter(({ collectedBy }) => collectedBy === call)
    const others = waiting.filter(({ collectedBy }) => collectedBy !== call)
    if (limits.deliver === 'at-once') handOver(call, radio, waiting)
    else {
      handOver(call, radio, asked)
      prompt(call, radio, others)
    }
  }

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
    for (const { id } of due) lastTryMs.set(id, nowMs)
    parts.outbox().add(started.value)
  }

  const prompt = (call: string, radio: number, waiting: readonly MailboxEntry[]): void => {
    const wallMs = clock.wallMs()
    const due = waiting.filter(
      ({ promptedWallMs, promptCount }) =>
        promptCount < limits.promptsMax &&
        (promptedWallMs === undefined || Math.abs(wallMs - promptedWallMs) >= limits.promptEveryMs),
    )
    if (due.length === 0) return
    const noted = store.durably('telling that something waits', () => {
      store.mailbox.notePrompt(
        waiting.map(({ id }) => id),
        wallMs,
      )
      const number = parts.newNumber(call)
      return store.messages.insert(promptFor(call, number, waiting.length, radio, wallMs))
    })
    if (noted.ok) parts.outbox().add([noted.value])
  }

  const expire = (): void => {
    lastTryMs.forEach((atMs, id) => {
      if (clock.monotonicMs() - atMs > tryAgainMs) lastTryMs.delete(id)
    })
    const reports = store.reading('the mailbox', [], () => {
      const old = store.mailbox.expired(clock.wallMs())
      if (old.length === 0) return []
      const ended = store.durably('what has expired', () =>
        old.map((entry) => endEntry(entry, 'expired', 0, 'not collected in time')),
      )
      return ended.ok ? ended.value : []
    })
    parts.outbox().add(reports)
  }

  return {
    leave,
    collect(question) {
      const collected = collect(question)
      return collected === 'out-of-order' ? collected : collected.map(waitingOf)
    },
    waitingFor: (call) =>
      store
        .reading('the mailbox', [], () => store.mailbox.waitingFor(call.toUpperCase()))
        .map(waitingOf),
    collectedBy(questionId, radio) {
      // Who collected nothing is answered also while the mailbox cannot be read.
      if (!collecting.delete(questionId)) return []
      return store.mailbox
        .collectedBy(questionId)
        .filter(({ id, state }) => state === 'sending' && !parts.outbox().hasOpen(id))
        .map((entry) => carry(entry, radio))
    },
    stationHeard,
    expire,
    carrierEnded(message, state, reason) {
      const entry =
        message.mailboxId === undefined ? undefined : store.mailbox.find(message.mailboxId)
      // It may have ended already: by the acknowledgement of an earlier carrier.
      if (entry === undefined || (entry.state !== 'sending' && entry.state !== 'waiting')) return []
      if (state === 'acknowledged') return [endEntry(entry, 'delivered', message.radio)]
      if (state === 'rejected') return [endEntry(entry, 'refused', message.radio, reason)]
      store.mailbox.setWaiting(entry.id)
      lastTryMs.set(entry.id, clock.monotonicMs())
      return []
    },
    start() {
      store.durably('the mailbox after a restart', () => {
        const carried = new Set(store.messages.open().map(({ mailboxId }) => mailboxId))
        const asked = new Set(store.questions.open().map(({ uniqueId }) => uniqueId))
        for (const { id, collectQuestionId = '' } of store.mailbox.sending())
          if (!carried.has(id) && !asked.has(collectQuestionId)) store.mailbox.setWaiting(id)
      })
    },
    stop() {
      stopped = true
    },
  }
}

const waitingOf = ({ id, from, text, leftWallMs }: MailboxEntry) => ({
  id: mailboxReference(id),
  from,
  text,
  leftWallMs,
})
