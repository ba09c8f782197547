import type { HillRow, NewHillRow } from '../../store/hills.js'
import type { Letter } from '../../store/letters.js'
import type { MailboxEntry } from '../../store/mailbox.js'
import { refusalOf as mailRefusalOf, receiverOf } from '../mailRules.js'
import { type Entry, octetsOf } from './entry.js'
import type { Offer } from './exchange.js'
import { dayMs, type HillParts } from './hillParts.js'
import { entryIdOf, questionOfEntry } from './ids.js'

/*
 * Messages and letters. One node at a time keeps each: in its mailbox, where its receiver gets it as any other, until it begins to be
 * handed to another node. From then on it is not delivered here any more, whatever becomes of the hand-over. What was written into
 * a connection here stays here: its reader may have seen it, also where the power failed before that was noted.
 */

/** Something that lies here and is to go to another node. */
export interface Outgoing extends Offer {
  readonly from: string
  readonly trace: readonly string[]
}

export interface Carried {
  /** all that lies here, oldest first */
  waiting(): readonly Outgoing[]
  /** why a station cannot be written to here, in a word; undefined where it can */
  refusalOf(entry: Pick<Entry, 'id' | 'kind' | 'to' | 'from' | 'text'>): string | undefined
  /** Inside a transaction: puts what came where its receiver finds it. @returns how that is named */
  land(entry: Entry, expiresWallMs: number): string
  /** Inside a transaction: takes what lies here out of the way. @returns its row; undefined when it does not lie here any more */
  take(id: string, peer: string): HillRow | undefined
  /** Inside a transaction: puts back what another did not take. */
  putBack(row: HillRow): void
}

/** An entry that nobody has heard of for so long after its time is told as lost: word of it may be under way. */
export const graceMs = dayMs

export function carried(parts: HillParts): Carried {
  const { store, clock, clockTrust, options } = parts

  const nowhere: Pick<NewHillRow, 'cameFrom' | 'state' | 'peer' | 'outcome' | 'trace'> = {
    ...{ cameFrom: undefined, state: 'here', peer: undefined, outcome: undefined, trace: '' },
  }

  const ofMail = (mail: MailboxEntry): NewHillRow => ({
    ...{ ...nowhere, entryId: idOfMail(options.own, mail), kind: 'message', subject: '' },
    ...{ from: mail.from, to: mail.to, text: mail.text, writtenWallMs: mail.leftWallMs },
    ...{ expiresWallMs: mail.expiresWallMs, expiryTrusted: mail.expiryTrusted },
    local: mail.questionId,
  })

  const ofLetter = ({ id, leftWallMs, ...letter }: Letter): NewHillRow => ({
    ...{ ...nowhere, entryId: idOfLetter(options.own, { id, leftWallMs, ...letter }) },
    ...{ kind: 'letter', from: letter.from, to: letter.to, subject: letter.subject },
    ...{ text: letter.text, writtenWallMs: leftWallMs, local: String(id) },
    ...{ expiresWallMs: letter.expiresWallMs, expiryTrusted: letter.expiryTrusted },
  })

  const rowsHere = (): NewHillRow[] => {
    const mails = store.mailbox
      .waiting()
      .filter(({ shown }) => !shown)
      .map((mail) => store.hills.findByLocal('message', mail.questionId) ?? ofMail(mail))
    if (parts.letters === undefined) return mails
    const letters = store.letters
      .unread()
      .filter(({ shown }) => !shown)
      .map((one) => store.hills.findByLocal('letter', String(one.id)) ?? ofLetter(one))
    return [...mails, ...letters]
  }

  return {
    waiting: () =>
      rowsHere()
        .filter(({ state }) => state === 'here')
        .map(({ entryId, kind, text, to, from, trace }) => ({
          ...{ id: entryId, kind: kind as 'message' | 'letter', octets: octetsOf(text), to, from },
          trace: traceOf({ trace }),
        })),
    refusalOf({ id, kind, to, from, text }) {
      const receiver = receiverOf(to, parts.nodeOptions)
      if (receiver === undefined) return 'to'
      if (store.degraded) return 'disk'
      if (kind === 'letter') return letterRefusal(parts, { from, to, octets: octetsOf(text) })
      if (text.includes('\n')) return 'text'
      const question = { id: questionOfEntry(id), from, text, words: [], rest: text }
      const refusal = mailRefusalOf(store, parts.nodeOptions.mailbox, question, receiver, text)
      if (refusal === undefined) return undefined
      return refusal.reason === 'too-long' ? 'text' : 'full'
    },
    land({ id, kind, from, to, subject, text, ageMin }, expiresWallMs) {
      const leftWallMs = Math.max(0, clock.wallMs() - ageMin * 60_000)
      const life = { leftWallMs, expiresWallMs, expiryTrusted: clockTrust.trusted() }
      if (kind === 'letter')
        return String(store.letters.insert({ from, to, subject, text, ...life }))
      return store.mailbox.insert({ questionId: questionOfEntry(id), from, to, text, ...life })
        .questionId
    },
    take(id, peer) {
      const found = rowsHere().find(({ entryId }) => entryId === id)
      if (found?.state !== 'here') return undefined
      store.hills.insert(found)
      store.hills.setState(id, 'handing', peer)
      const isLetter = found.kind === 'letter'
      store.hills.setPlace(id, found.expiresWallMs + graceMs, isLetter ? undefined : found.local)
      if (isLetter) store.letters.remove(Number(found.local))
      else store.mailbox.setPassedOn(store.mailbox.findByQuestion(found.local!)!.id)
      return store.hills.find(id)
    },
    putBack(row) {
      const expiresWallMs = row.expiresWallMs - graceMs
      let { local } = row
      if (row.kind === 'letter') {
        const { from, to, subject, text, writtenWallMs: leftWallMs, expiryTrusted } = row
        const letter = { from, to, subject, text, leftWallMs, expiresWallMs, expiryTrusted }
        local = String(store.letters.insert(letter))
      } else {
        const mail = local === undefined ? undefined : store.mailbox.findByQuestion(local)
        if (mail?.state === 'passed on') store.mailbox.setWaiting(mail.id)
      }
      store.hills.setPlace(row.entryId, expiresWallMs, local)
      store.hills.setState(row.entryId, 'here', undefined)
    },
  }
}

export const traceOf = ({ trace }: { readonly trace: string }): readonly string[] =>
  trace === '' ? [] : trace.split(',')

/** The id under which a mailbox entry that began here is known elsewhere. */
const idOfMail = (own: string, { questionId }: MailboxEntry): string =>
  entryIdOf(own, 'message', questionId)

/** Numbers of letters begin anew in a new database: what it says is part of its id. */
const idOfLetter = (own: string, { id, from, to, leftWallMs, subject, text }: Letter): string =>
  entryIdOf(own, 'letter', id, from, to, leftWallMs, subject, text)

function letterRefusal(
  { letters, store }: HillParts,
  { from, to, octets }: { readonly from: string; readonly to: string; readonly octets: number },
): string | undefined {
  if (letters === undefined) return 'kind'
  if (octets > letters.octetsMax) return 'size'
  const { perStation, total } = letters
  const isFull =
    store.letters.countFrom(from) >= perStation ||
    store.letters.countFor(to) >= perStation ||
    store.letters.count >= total
  return isFull ? 'full' : undefined
}
