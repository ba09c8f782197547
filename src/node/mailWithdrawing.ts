import type { LeftMessage, MailboxView, Question, WithdrawResult } from '../services/service.js'
import type { MailboxEntry, MailboxTable } from '../store/mailbox.js'
import { mailboxReference } from './journal.js'
import { outOfOrder } from './mailLeaving.js'
import type { MailParts } from './mailParts.js'
import { perhapsLost } from './mailRules.js'

/** What ended longer ago than so many messages of all stations is not told any more. */
const endedLookedAt = 300

/** What a sender sees of what it left, and takes back of it: its own alone. */
export function mailWithdrawing(
  parts: MailParts,
): Required<Pick<MailboxView, 'leftBy' | 'withdraw'>> {
  const { store, clock, note } = parts

  /** @returns whether its receiver may have it; undefined where the database does not take it */
  const takeBack = (entry: MailboxEntry): boolean | undefined => {
    // In this order: after a crash in between it waits, and the question is asked anew.
    parts.outbox().giveUpCarrier(entry.id, 'its sender took it back')
    const done = store.durably('a message that its sender takes back', () =>
      store.mailbox.end(entry.id, 'withdrawn', clock.wallMs(), 'by its sender'),
    )
    if (!done.ok) return undefined
    const reference = mailboxReference(entry.id)
    const text = `from ${entry.from}, for ${entry.to}: ${entry.text}`
    note('given up', text, { station: entry.from, reference, reason: 'its sender took it back' })
    // It gets its number when it goes out first.
    return entry.number !== undefined || entry.shown
  }

  const withdrawOne = (question: Question, entry: MailboxEntry): WithdrawResult => {
    if (isHere(entry)) {
      const perhaps = takeBack(entry)
      if (perhaps === undefined) return { kind: outOfOrder(parts, question).reason }
      return { kind: 'withdrawn', to: entry.collectedBy ?? entry.to, perhaps }
    }
    if (entry.state === 'passed on' && parts.withdrawElsewhere?.(entry.questionId) === true)
      return { kind: 'asked' }
    return { kind: 'over', message: leftMessages([entry])[0]! }
  }

  const withdrawAll = (question: Question, all: readonly MailboxEntry[]): WithdrawResult => {
    const open = all.filter((one) => isHere(one) || one.state === 'passed on')
    if (open.length === 0) return { kind: 'over', message: leftMessages(all)[0]! }
    let haveIt = all.filter(({ state }) => state === 'delivered').length
    for (const entry of open) {
      const result = withdrawOne(question, entry)
      if (result.kind === 'out-of-order') return result
      if (result.kind !== 'withdrawn' || result.perhaps) haveIt++
    }
    return { kind: 'several', haveIt }
  }

  return {
    leftBy: (from) => store.reading('the mailbox', [], () => leftBy(store.mailbox, from)),
    withdraw(question, number) {
      const found = store.reading<readonly MailboxEntry[] | undefined>(
        'the mailbox',
        undefined,
        () => ownOf(store.mailbox, question.from, number),
      )
      if (found === undefined || store.degraded) return { kind: outOfOrder(parts, question).reason }
      if (found.length === 0) return { kind: 'unknown' }
      return found.length > 1 ? withdrawAll(question, found) : withdrawOne(question, found[0]!)
    },
  }
}

const isHere = ({ state }: MailboxEntry): boolean => state === 'waiting' || state === 'sending'

/** What a number of the asker's names: one entry, or all of one text to several. */
function ownOf(
  mailbox: Pick<MailboxTable, 'find' | 'ofSeveral'>,
  from: string,
  number: string,
): readonly MailboxEntry[] {
  if (!/^\d{1,12}$/.test(number)) return []
  const entry = mailbox.find(Number(number))
  if (entry === undefined || entry.from !== from || entry.answerTo !== undefined) return []
  return entry.questionId.includes('>') ? mailbox.ofSeveral(entry.questionId) : [entry]
}

/** What a station has left, what is still open first, then newest first. */
export function leftBy(
  mailbox: Pick<MailboxTable, 'openFrom' | 'recent'>,
  from: string,
): LeftMessage[] {
  const own = new Map<number, MailboxEntry>()
  const found = [...mailbox.openFrom(from), ...mailbox.recent(endedLookedAt)]
  // What came by mail is of who wrote it, not of the node.
  for (const entry of found)
    if (entry.from === from && entry.answerTo === undefined) own.set(entry.id, entry)
  return leftMessages([...own.values()])
}

/** One text to several is one message. */
function leftMessages(entries: readonly MailboxEntry[]): LeftMessage[] {
  const groups = new Map<string, MailboxEntry[]>()
  for (const entry of [...entries].sort((a, b) => a.id - b.id)) {
    const isPart = entry.questionId.includes('>')
    const key = isPart ? entry.questionId.split('>')[0]! : `#${entry.id}`
    groups.set(key, [...(groups.get(key) ?? []), entry])
  }
  const all = [...groups.values()].map(leftMessage)
  const isOpen = ({ state }: LeftMessage): boolean =>
    state === 'waiting' || state === 'sending' || state === 'passed on'
  return all
    .sort((a, b) => Number(b.number) - Number(a.number))
    .sort((a, b) => Number(isOpen(b)) - Number(isOpen(a)))
}

function leftMessage(parts: readonly MailboxEntry[]): LeftMessage {
  const first = parts[0]!
  const open = parts.find((one) => isHere(one) || one.state === 'passed on')
  const { id, to, text, leftWallMs } = first
  const { endedWallMs, reason, ...told } = open ?? first
  const state = reason === perhapsLost ? 'lost' : told.state
  const haveIt = parts.filter((one) => one.state === 'delivered').length
  return {
    ...{ number: String(id), to, text, leftWallMs, state, endedWallMs },
    ...(first.questionId.includes('>') && { several: { count: parts.length, haveIt } }),
  }
}
