import type { Email } from '../../store/emails.js'
import type { Submitted } from './carrier.js'
import { type EmailEnd, endEmail } from './emailEnding.js'
import { type EmailParts, emailReference } from './emailParts.js'
import type { EmailWaits } from './emailWaits.js'

/** What follows from a try. */
export interface EmailSettling {
  /** @returns false where nothing more is to be tried now: there is no link */
  settle(email: Email, result: Submitted): boolean
  finish(email: Email, end: EmailEnd, reason: string, why?: string): void
  /** Tries again to note ends that the database did not take. */
  save(): void
  /** it has ended, and the database does not know: it must not be handed over again */
  isUnsaved(id: number): boolean
  /** why nothing goes, since the last try; undefined where that reached the server */
  readonly trouble: string | undefined
}

/**
 * So often a mail is handed over again after the link broke between its end and the server's reply: most servers will have had
 * it the first time, and not all of them notice that they have it.
 */
export const unsureMax = 3

export function emailSettling(parts: EmailParts, waits: EmailWaits): EmailSettling {
  const { store, note, counts } = parts
  const unsaved = new Map<number, readonly [Email, EmailEnd, reason: string, why: string]>()
  let trouble: string | undefined

  const finish: EmailSettling['finish'] = (email, end, reason, why = '') => {
    waits.forget(email.id)
    if (endEmail(parts, email, end, reason, why)) unsaved.delete(email.id)
    else unsaved.set(email.id, [email, end, reason, why])
  }

  const noteAgain = (kind: 'queued' | 'held', email: Email, reason: string, ms: number): void =>
    note(kind, `mail for ${email.toAddress}: ${email.text}`, {
      ...{ station: email.from, reference: emailReference(email.id) },
      reason: `${reason}; again in ${Math.max(1, Math.round(ms / 60_000))} min`,
    })

  const waitsAgain = (email: Email, unsure: boolean): boolean =>
    store.durably('that a mail waits again', () => store.emails.noteWaiting(email.id, unsure)).ok

  const noLink = (email: Email, reason: string): void => {
    trouble = reason
    waitsAgain(email, false)
    noteAgain('held', email, reason, waits.waitForLink())
  }

  const unsure = (email: Email, reason: string): void => {
    trouble = reason
    waitsAgain(email, true)
    waits.waitForLink()
    if (email.unsureCount + 1 >= unsureMax) finish(email, 'unsure', reason)
    else noteAgain('queued', email, `perhaps taken: ${reason}`, waits.wait(email.id))
  }

  return {
    settle(email, result) {
      switch (result.kind) {
        case 'no-link':
          counts.note('times without a link', result.reason)
          noLink(email, result.reason)
          return false
        case 'unsure':
          counts.note('broke off at the end', result.reason)
          unsure(email, result.reason)
          return false
      }
      waits.linkIsThere()
      trouble = undefined
      switch (result.kind) {
        case 'accepted':
          finish(email, 'sent', result.reply)
          break
        case 'refused':
          finish(email, 'refused', result.reply, String(result.code))
          break
        case 'later':
          counts.note('to be tried later', '')
          waitsAgain(email, false)
          noteAgain('queued', email, result.reply, waits.wait(email.id))
      }
      return true
    },
    finish,
    save() {
      for (const [email, end, reason, why] of [...unsaved.values()]) finish(email, end, reason, why)
    },
    isUnsaved: (id) => unsaved.has(id),
    get trouble() {
      return trouble
    },
  }
}
