import type { Cancel } from '../../runtime/clock.js'
import { errorText } from '../../runtime/errorText.js'
import type { Email } from '../../store/emails.js'
import type { Submitted } from './carrier.js'
import type { EmailParts } from './emailParts.js'
import { emailSettling, unsureMax } from './emailSettling.js'
import { outgoingMail } from './emailText.js'
import { emailWaits } from './emailWaits.js'

/** Gives what waits to the server, one mail at a time, oldest first. */
export interface EmailQueue {
  /** Takes up what a former run left, and goes on from there. */
  start(): void
  /** Looks now: something was written. */
  soon(): void
  /** Ends what is past its time; to be called now and then, while the clock is trusted. */
  expire(): void
  /** The mail that is being given to the server now ends where it is; a later run takes it up. */
  stop(): void
  /** why nothing goes, since the last try; undefined where that reached the server */
  readonly trouble: string | undefined
}

/** Rows that are read at a time: a mail has up to 9 kB. */
const pageRows = 20
const expiredAtOnce = 100
const lookAgainMs = 60_000

export function emailQueue(parts: EmailParts): EmailQueue {
  const { clock, store, note } = parts
  const waits = emailWaits(clock, parts.options)
  const settling = emailSettling(parts, waits)
  let busy = false
  /** something was written while mail was being sent */
  let wanted = false
  let stopped = true
  let cancelNext: Cancel = () => {}

  /** @returns false where nothing more is to be tried now */
  const tryOne = async (email: Email): Promise<boolean> => {
    const begun = store.durably('that a mail is tried', () => store.emails.noteAttempt(email.id))
    if (!begun.ok) {
      waits.waitForLink()
      return false
    }
    const { call } = parts.nodeOptions
    const mail = outgoingMail(email, call, parts.options, dateOf(email, parts))
    const result = await parts
      .submit(mail)
      .catch((error: unknown): Submitted => ({ kind: 'unsure', reason: errorText(error) }))
    // The next run finds it begun and not ended, and counts it as unsure.
    return stopped ? false : settling.settle(email, result)
  }

  /** While others were sent, its sender took it back. */
  const isOver = ({ id }: Email): boolean =>
    store.reading('mail', false, () => store.emails.find(id)?.state !== 'waiting')

  const run = async (): Promise<void> => {
    settling.save()
    if (!waits.isLinkDue()) return
    for (const email of everyWaiting(parts)) {
      if (stopped) return
      const isDue = waits.isDue(email.id) && !settling.isUnsaved(email.id)
      if (isDue && !isOver(email) && !(await tryOne(email))) return
    }
  }

  /** Looks again when the next wait is over; something new has it look at once. */
  const book = (): void => {
    cancelNext()
    if (stopped) return
    const nowMs = clock.monotonicMs()
    const nextMs = Math.min(nowMs + lookAgainMs, waits.nextMs())
    cancelNext = clock.at(wanted ? nowMs : nextMs, look)
  }

  const look = (): void => {
    if (busy || stopped) return
    busy = true
    wanted = false
    run()
      .catch((error: unknown) => note('fault', 'sending mail', { reason: errorText(error) }))
      .finally(() => {
        busy = false
        book()
      })
  }

  return {
    start() {
      stopped = false
      for (const email of takeUp(parts))
        settling.finish(email, 'unsure', 'the program ended each time while it was sent')
      look()
    },
    soon() {
      wanted = true
      if (!busy) book()
    },
    expire() {
      // What is on its way is not past its time yet.
      if (busy) return
      const wallMs = clock.wallMs()
      const old = store.reading('mail', [], () => store.emails.expired(wallMs, expiredAtOnce))
      for (const email of old)
        if (!settling.isUnsaved(email.id)) settling.finish(email, 'expired', 'no link in time')
    },
    stop() {
      stopped = true
      cancelNext()
    },
    get trouble() {
      return settling.trouble
    },
  }
}

function* everyWaiting({ store }: EmailParts): Generator<Email> {
  let afterId = 0
  for (;;) {
    const from = afterId
    const page = store.reading('mail', [], () => store.emails.waiting(from, pageRows))
    yield* page
    const last = page.at(-1)
    if (last === undefined) return
    afterId = last.id
  }
}

/** A try that a former run began, and did not end, may have succeeded. @returns those that had enough of them */
function takeUp(parts: EmailParts): Email[] {
  const { store } = parts
  const begun = [...everyWaiting(parts)].filter(({ underWay }) => underWay)
  const noted = store.durably('mail after a restart', () => {
    for (const { id } of begun) store.emails.noteWaiting(id, true)
  })
  return noted.ok ? begun.filter(({ unsureCount }) => unsureCount + 1 >= unsureMax) : []
}

/** When it was written, where that can be believed; else when it goes. Undefined while no clock can be. */
function dateOf(
  { leftWallMs, expiresWallMs, expiryTrusted }: Email,
  { clock, clockTrust, options }: EmailParts,
): number | undefined {
  if (!clockTrust.trusted()) return undefined
  const wallMs = clock.wallMs()
  // What was written before the clock was right got its time to wait later.
  const isRight = expiryTrusted && expiresWallMs - leftWallMs === options.keepMs
  return isRight && leftWallMs <= wallMs ? leftWallMs : wallMs
}
