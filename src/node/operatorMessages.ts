import { messageTextProblem } from '../aprs/messageText.js'
import { parseAddress } from '../ax25/address.js'
import type { Clock } from '../runtime/clock.js'
import { keptText } from '../services/airText.js'
import type { Store } from '../store/store.js'
import { messageReference } from './journal.js'
import type { AnswerOptions } from './options.js'
import type { Outbox } from './outbox.js'

/** A message that the operator sends as the station. */
export interface OperatorMessage {
  /** a call sign with or without SSID */
  readonly to: string
  readonly text: string
}

/** What became of the wish: the reference of the message in the log, or why there is none. */
export type Said =
  | { readonly ok: true; readonly reference: string }
  | { readonly ok: false; readonly reason: string }

export interface OperatorMessagesParts {
  readonly clock: Clock
  readonly store: Store
  readonly outbox: Outbox
  readonly newNumber: (call: string) => string
  /** where its receiver was heard last, or the first */
  readonly radioFor: (call: string) => number
  readonly options: Pick<AnswerOptions, 'notAfterMs'>
}

/** Sends them as any message goes: numbered, in its turn, repeated until it is acknowledged. */
export function operatorMessages(parts: OperatorMessagesParts): (message: OperatorMessage) => Said {
  const { clock, store, outbox } = parts
  return ({ to, text: given }) => {
    const call = to.toUpperCase().replace(/-0$/, '')
    const address = parseAddress(call)
    if (!address.ok) return { ok: false, reason: address.reason }
    const text = keptText(given)
    const problem = text === '' ? 'there is no text' : messageTextProblem(text)
    if (problem !== undefined) return { ok: false, reason: problem }
    const wallMs = clock.wallMs()
    const kept = store.durably('a message of the operator', () =>
      store.messages.insert({
        ...{ kind: 'reply', to: call, text, state: 'waiting', createdWallMs: wallMs },
        ...{ number: parts.newNumber(call), radio: parts.radioFor(call) },
        ...{ replyTo: undefined, questionId: undefined, mailboxId: undefined },
        notAfterWallMs: wallMs + parts.options.notAfterMs,
      }),
    )
    if (!kept.ok) return { ok: false, reason: 'it could not be kept in the database' }
    outbox.add([kept.value])
    return { ok: true, reference: messageReference(kept.value.id) }
  }
}
