import { shortenedText } from '../../aprs/messageText.js'
import type { HillRow } from '../../store/hills.js'
import type { MailboxEntry } from '../../store/mailbox.js'
import type { MessageRecord } from '../../store/messages.js'
import { perhapsLost } from '../mailRules.js'
import { isCarried, isEntryId, isNodeCall, type Outcome, outcomes } from './entry.js'
import { dayMs, type HillParts } from './hillParts.js'
import { entryIdOf } from './ids.js'

/*
 * What became of a message or a letter goes back to the node where it began, from hand to hand along the nodes that it came by, and
 * is told to its sender there. The text of a report:
 *
 *     Q1HIL-5.ABCDEFGHJK delivered Q1HIL-5,Q1MID-5      what it is of, what became of it, and the nodes that it came by
 *     Q3LAP: see you at the hut                          whom it was for, and how it began
 */

export interface Report {
  readonly subject: string
  readonly outcome: Outcome
  readonly path: readonly string[]
  readonly to: string
  readonly text: string
}

/** @returns undefined for a text of another form */
export function parseReport(text: string): Report | undefined {
  const [head = '', ...rest] = text.split('\n')
  const [subject = '', outcomeText = '', pathText = '', more] = head.split(' ')
  const outcome = outcomes.find((one) => one === outcomeText)
  const path = pathText.split(',')
  if (more !== undefined || !isEntryId(subject) || outcome === undefined) return undefined
  if (path.length === 0 || path.length > 3 || !path.every(isNodeCall)) return undefined
  const match = /^(\S{1,9}): (.*)$/s.exec(rest.join(' '))
  return match ? { subject, outcome, path, to: match[1]!, text: match[2]! } : undefined
}

/** Ends entries, once each. All but `flush` inside a transaction. */
export interface Endings {
  /** Ends it here, and sees to it that its sender is told. */
  end(row: HillRow, outcome: Outcome): void
  /** Tells the sender of what began here, or was of this node before its database was lost. */
  tellSender(what: Pick<HillRow, 'from' | 'to' | 'text'>, outcome: Outcome): void
  /** A mailbox entry of this node ends, handed on or not. */
  endMail(entry: MailboxEntry, outcome: Outcome): void
  /** Once the transaction is on the disk: hands what is told to the radio. */
  flush(): void
  /** the transaction failed */
  forget(): void
}

const reportLifeMs = 14 * dayMs
const textKept = 60

export function endings(parts: HillParts): Endings {
  const { store, clock, clockTrust, note, options } = parts
  let told: MessageRecord[] = []

  const tellSender: Endings['tellSender'] = ({ from, to, text }, outcome) => {
    if (!isNodeCall(from) || !/\d/.test(from)) return
    const wallMs = clock.wallMs()
    const record = store.messages.insert({
      ...{ kind: 'report', to: from, number: parts.newNumber(from), replyTo: undefined },
      ...{ questionId: undefined, mailboxId: undefined, radio: parts.radioFor(from) },
      ...{ state: 'waiting', createdWallMs: wallMs },
      notAfterWallMs: wallMs + parts.nodeOptions.mailbox.keepMs,
      text: shortenedText(reportText(parts, to, text.replaceAll('\n', ' '), outcome)),
    })
    told.push(record)
  }

  const reportBack = (row: HillRow, outcome: Outcome): void => {
    const peer = row.cameFrom
    if (peer === undefined) return
    const wallMs = clock.wallMs()
    const text = row.text.replaceAll('\n', ' ').slice(0, textKept)
    store.hills.insert({
      entryId: entryIdOf(options.own, 'report', row.entryId, outcome),
      ...{ kind: 'report', from: options.own, to: row.from, subject: '' },
      text: `${row.entryId} ${outcome} ${row.trace}\n${row.to}: ${text}`,
      ...{ writtenWallMs: wallMs, expiresWallMs: wallMs + reportLifeMs },
      ...{ expiryTrusted: clockTrust.trusted(), trace: '', cameFrom: undefined },
      ...{ state: 'here', peer, outcome: undefined, local: undefined },
    })
  }

  const endMail: Endings['endMail'] = (entry, outcome) => {
    const isOpen =
      entry.state === 'waiting' || entry.state === 'sending' || entry.state === 'passed on'
    // What was given up may be told of after all.
    if (!isOpen && entry.reason !== perhapsLost) return
    const isKnown = outcome === 'delivered' || outcome === 'expired' || outcome === 'withdrawn'
    const state = isKnown ? outcome : 'refused'
    store.mailbox.end(entry.id, state, clock.wallMs(), words[outcome])
  }

  return {
    tellSender,
    endMail,
    end(row, outcome) {
      store.hills.end(row.entryId, outcome)
      if (!isCarried(row.kind)) return
      const mail = mailOf(parts, row)
      if (mail !== undefined) endMail(mail, outcome)
      if (row.kind === 'letter' && row.local !== undefined) store.letters.remove(Number(row.local))
      const detail = { station: row.to, reference: row.entryId, reason: words[outcome] }
      note(
        outcome === 'delivered' ? 'delivered' : 'given up',
        `from ${row.from}: ${row.text}`,
        detail,
      )
      if (row.trace === '') tellSender(row, outcome)
      else reportBack(row, outcome)
    },
    flush() {
      const messages = told
      told = []
      if (messages.length > 0) parts.outbox.add(messages)
    },
    forget() {
      told = []
    },
  }
}

/** The mailbox entry that it lies in, or lay in before it was handed on. */
const mailOf = ({ store }: HillParts, { kind, local }: HillRow): MailboxEntry | undefined =>
  kind === 'message' && local !== undefined ? store.mailbox.findByQuestion(local) : undefined

/** Of what is for one person nothing is replaced. */
function reportText({ wording }: HillParts, to: string, text: string, outcome: Outcome): string {
  const isLost = outcome === 'unknown' || outcome === 'replaced'
  return wording().say(isLost ? 'perhapsLost' : outcome, { call: to, text })
}

const words: Record<Outcome, string> = {
  delivered: 'was delivered',
  refused: 'was refused by its radio',
  expired: 'was not collected in time',
  withdrawn: 'was withdrawn',
  unknown: perhapsLost,
  replaced: 'was replaced',
}
