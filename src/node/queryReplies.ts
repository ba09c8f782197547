import type { Clock } from '../runtime/clock.js'
import type { MessageRecord } from '../store/messages.js'
import type { Store } from '../store/store.js'
import type { Beacons } from './beacons.js'
import type { Heard } from './intake.js'
import type { WordingFor } from './nodeWording.js'
import type { NodeOptions } from './options.js'
import type { Outbox } from './outbox.js'
import type { QueryReply } from './queries.js'

/** What is sent in reply to a query: a beacon, a message, or messages once more. */
export interface QueryReplies {
  send(reply: QueryReply, heard: Heard): void
  /** Inside a transaction: a message to the asker, which the outbox is to send. */
  insert(heard: Pick<Heard, 'from' | 'frame'>, text: string, questionId?: number): MessageRecord
}

export function queryReplies(parts: {
  readonly clock: Clock
  readonly store: Store
  readonly options: NodeOptions
  readonly wording: WordingFor
  readonly outbox: Outbox
  readonly beacons: Beacons
}): QueryReplies {
  const { clock, store, outbox } = parts

  const insert = (
    heard: Pick<Heard, 'from' | 'frame'>,
    text: string,
    questionId?: number,
  ): MessageRecord => {
    const wallMs = clock.wallMs()
    return store.messages.insert({
      ...{ kind: 'reply', to: heard.from, text, radio: heard.frame.radio, state: 'waiting' },
      ...{ number: undefined, replyTo: undefined, questionId, mailboxId: undefined },
      createdWallMs: wallMs,
      notAfterWallMs: wallMs + parts.options.answers.notAfterMs,
    })
  }

  const message = (heard: Heard, text: string): void => {
    const kept = store.durably('a reply to a query', () => insert(heard, text))
    if (kept.ok) outbox.add([kept.value])
  }

  return {
    insert,
    send(reply, heard) {
      if (reply.kind === 'beacon') parts.beacons.send(reply.beacon)
      else if (reply.kind === 'message') message(heard, reply.text)
      else if (reply.kind === 'resend' && outbox.resend(heard.from) === 0)
        message(heard, parts.wording().say('noMessages'))
    },
  }
}
