import type { Clock } from '../runtime/clock.js'
import type { ClockTrust } from '../runtime/clockTrust.js'
import type { MessageRecord } from '../store/messages.js'
import type { Store } from '../store/store.js'
import { callIsListed } from './addressing.js'
import { type Journal, messageReference } from './journal.js'
import type { NodeOptions } from './options.js'
import { rateLimit } from './rateLimit.js'

/** What a service wants sent to a station, or, without one, posted for everybody. */
export interface Wanted {
  readonly service: string
  readonly to?: string
  readonly text: string
}

export interface ServiceMessages {
  /**
   * Inside the transaction that keeps the service's answer.
   * @param id of the question or occasion: what is posted for it is posted once
   * @returns what the outbox is to send
   */
  insert(id: string, wanted: readonly Wanted[]): MessageRecord[]
}

export interface ServiceMessagesParts {
  readonly clock: Clock
  readonly clockTrust: ClockTrust
  readonly store: Store
  readonly note: Journal
  readonly options: NodeOptions
  readonly newNumber: (call: string) => string
  /** where its receiver was heard last, or the first */
  readonly radioFor: (call: string) => number
}

const hourMs = 3_600_000
const sendsPerHourMax = 30
/** Notices in the node's name that may stand at a time, for all services together. */
const standingMax = 5

/** Messages of own services go out as the operator's do: numbered, in their turn, repeated until they are acknowledged. */
export function serviceMessages(parts: ServiceMessagesParts): ServiceMessages {
  const { clock, clockTrust, store, options } = parts
  const sent = rateLimit(hourMs)

  const refuse = ({ service, to, text }: Wanted, reason: string): void =>
    parts.note('refused', text, { station: to, reason: `by the service ${service}: ${reason}` })

  const send = (one: Wanted, to: string): MessageRecord[] => {
    if (to === options.call) return []
    if (callIsListed(to, options.ignored)) {
      refuse(one, 'this station is ignored')
      return []
    }
    if (sent.note(one.service, clock.monotonicMs()) > sendsPerHourMax) {
      refuse(one, `more than ${sendsPerHourMax} messages an hour`)
      return []
    }
    const wallMs = clock.wallMs()
    const radio = parts.radioFor(to)
    const message = store.messages.insert({
      ...{ kind: 'reply', to, text: one.text, state: 'waiting', createdWallMs: wallMs, radio },
      ...{ number: parts.newNumber(to), replyTo: undefined },
      ...{ questionId: undefined, mailboxId: undefined },
      notAfterWallMs: wallMs + options.answers.notAfterMs,
    })
    const reference = messageReference(message.id)
    parts.note('queued', one.text, {
      ...{ station: to, radio, reference, reason: `by the service ${one.service}` },
    })
    return [message]
  }

  const post = (one: Wanted, questionId: string): void => {
    if (store.notices.hasQuestion(questionId)) return
    const wallMs = clock.wallMs()
    const standing = store.notices.current(
      clockTrust.trusted() ? wallMs : undefined,
      options.notices.total,
    )
    const own = standing.filter(({ from }) => from === options.call)
    if (own.length >= standingMax || standing.length >= options.notices.total) {
      refuse(one, 'the board is full for it')
      return
    }
    store.notices.insert({
      ...{ questionId, from: options.call, text: one.text, postedWallMs: wallMs },
      ...{ expiresWallMs: wallMs + options.notices.keepMs, expiryTrusted: clockTrust.trusted() },
    })
    parts.note('posted', one.text, {
      station: options.call,
      reason: `by the service ${one.service}`,
    })
  }

  return {
    insert: (id, wanted) =>
      wanted.flatMap((one, at) => {
        if (one.to !== undefined) return send(one, one.to)
        post(one, `${id}/${at}`)
        return []
      }),
  }
}
