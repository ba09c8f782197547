import type { Cancel, Clock } from '../runtime/clock.js'
import type { Random } from '../runtime/random.js'
import type { Store } from '../store/store.js'
import type { Beacons } from './beacons.js'
import type { Heard } from './intake.js'
import type { ResolvedOptions } from './options.js'
import type { Outbox } from './outbox.js'
import type { QueryReply } from './queries.js'
import { rateLimit } from './rateLimit.js'

/** Stations wait a random time before they answer a query to everybody, or they would all answer at once. */
const generalWaitMs = { least: 5_000, more: 55_000 }
const generalRepliesMax = 2

/** Does what the reference's queries ask for. */
export interface QueryAnswers {
  /** @returns why nothing is answered */
  answer(heard: Heard, replies: readonly QueryReply[]): string | undefined
  stop(): void
}

export function queryAnswers(parts: {
  readonly clock: Clock
  readonly random: Random
  readonly store: Store
  readonly options: ResolvedOptions
  readonly outbox: Outbox
  readonly beacons: Beacons
}): QueryAnswers {
  const { clock, store, options, outbox, beacons } = parts
  const limit = rateLimit(options.limits.windowMs)
  const waiting = new Set<Cancel>()

  const message = (heard: Heard, text: string): void => {
    const wallMs = clock.wallMs()
    const kept = store.durably('a reply to a query', () =>
      store.messages.insert({
        kind: 'reply',
        to: heard.from,
        number: undefined,
        replyTo: undefined,
        text,
        questionId: undefined,
        mailboxId: undefined,
        radio: heard.frame.radio,
        state: 'waiting',
        createdWallMs: wallMs,
        notAfterWallMs: wallMs + options.answers.notAfterMs,
      }),
    )
    if (kept.ok) outbox.add([kept.value])
  }

  const carryOut = (reply: QueryReply, heard: Heard): void => {
    if (reply.kind === 'beacon') beacons.send(reply.beacon)
    else if (reply.kind === 'message') message(heard, reply.text)
    else if (reply.kind === 'resend' && outbox.resend(heard.from) === 0) {
      message(heard, 'No messages for you')
    }
  }

  const later = (run: () => void): void => {
    const atMs = clock.monotonicMs() + generalWaitMs.least + generalWaitMs.more * parts.random()
    const cancel = clock.at(atMs, () => {
      waiting.delete(cancel)
      run()
    })
    waiting.add(cancel)
  }

  return {
    answer(heard, replies) {
      const general = heard.payload.kind === 'query'
      const most = general ? generalRepliesMax : options.limits.perStation
      const count = limit.note(general ? '' : heard.from, clock.monotonicMs())
      if (count > most) return 'rate limit of queries'
      let reason: string | undefined
      for (const reply of replies) {
        if (reply.kind === 'none') reason = reply.reason
        else if (general) later(() => carryOut(reply, heard))
        else carryOut(reply, heard)
      }
      return reason
    },
    stop() {
      for (const cancel of waiting) cancel()
      waiting.clear()
    },
  }
}
