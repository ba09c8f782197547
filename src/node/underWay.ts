import { formatMessage } from '../aprs/format.js'
import { bad, good, type Result } from '../ax25/result.js'
import type { Priority } from '../radio/port.js'
import type { Cancel } from '../runtime/clock.js'
import { errorText } from '../runtime/errorText.js'
import type { MessageRecord } from '../store/messages.js'
import type { TakeBack } from './transmitter.js'

/** A message of ours on its way. */
export interface UnderWay {
  readonly message: MessageRecord
  /** monotonic */
  deadlineMs: number
  /** as in Outgoing, of its first copy */
  readonly turn: number
  /**
   * waiting: its first copy has not gone out; sending: with the transmitter; sent: waits for an acknowledgement; due: wants to
   * be repeated; pausing: nothing went out, it is tried again in a moment; parked: until its station is heard
   */
  state: 'waiting' | 'sending' | 'sent' | 'due' | 'pausing' | 'parked'
  /** transmissions since it was taken up or heard of again */
  attempts: number
  /** times that it was refused since something of it went out */
  refusals: number
  /** transmissions in all */
  sentCount: number
  /** another part of its answer was acknowledged: its receiver does acknowledge */
  partAcknowledged: boolean
  /** something of its answer went out */
  begun: boolean
  /** why it is transmitted no more than once from now on */
  onlyOnce?: string | undefined
  cancel?: Cancel | undefined
  takeBack?: TakeBack | undefined
}

/**
 * A message as the database has it.
 * @param now wallMs undefined while the clock is not trusted: then the message has its whole time before it
 */
export function underWay(
  message: MessageRecord,
  now: { readonly nowMs: number; readonly wallMs: number | undefined; readonly turn: number },
): UnderWay {
  const { nowMs, wallMs, turn } = now
  // A clock that was set in between must not make an old answer young.
  const { notAfterWallMs, createdWallMs, attempts } = message
  const wholeMs = notAfterWallMs - createdWallMs
  const leftMs = wallMs === undefined ? wholeMs : notAfterWallMs - wallMs
  const lifeMs = Math.max(0, Math.min(leftMs, wholeMs))
  return {
    message,
    deadlineMs: nowMs + lifeMs,
    turn,
    state: message.state === 'parked' ? 'parked' : attempts > 0 ? 'due' : 'waiting',
    attempts: 0,
    refusals: 0,
    sentCount: attempts,
    partAcknowledged: false,
    begun: attempts > 0,
  }
}

const rank: Readonly<Record<MessageRecord['kind'], number>> = {
  emergency: -1,
  reply: 0,
  refusal: 0,
  answer: 1,
  error: 1,
  prompt: 2,
  mailbox: 3,
  report: 4,
}

export type Lane = 'emergency' | 'answers' | 'mail'

/** An answer never waits for somebody's mail to be acknowledged, and the answer to a call for help for nothing. */
export const laneOf = ({ kind }: MessageRecord): Lane =>
  kind === 'emergency' ? 'emergency' : rank[kind] <= 1 ? 'answers' : 'mail'

const firstPriority = { emergency: 'emergency', answers: 'answer', mail: 'mailbox' } as const

export const priorityOf = ({ message, sentCount }: UnderWay): Priority => {
  const lane = laneOf(message)
  return sentCount > 0 && lane !== 'mail' ? 'repeat' : firstPriority[lane]
}

/** The order in which messages to one station go out. */
export const inOrder = (messages: Iterable<UnderWay>): UnderWay[] =>
  [...messages].sort(
    (a, b) => rank[a.message.kind] - rank[b.message.kind] || a.message.id - b.message.id,
  )

/** True for the parts of one answer, which keep their order. */
export const isSameAnswer = (a: MessageRecord, b: MessageRecord): boolean =>
  a.id === b.id ||
  (a.questionId !== undefined && a.questionId === b.questionId && laneOf(a) === laneOf(b))

/** A text that cannot be sent is a mistake of ours; it ends that message and nothing else. */
export function payloadOf({ to, text, number, replyTo }: MessageRecord): Result<Uint8Array> {
  try {
    return good(
      formatMessage({
        addressee: to,
        text,
        ...(number === undefined ? {} : { number }),
        ...(replyTo === undefined ? {} : { replyAcknowledges: replyTo }),
      }),
    )
  } catch (error) {
    return bad(errorText(error))
  }
}

/** Addresses, control, PID, addressee and number of a message: what its frame has besides the text. */
const octetsBesideText = 34

export const octetCountOf = ({ text }: Pick<MessageRecord, 'text'>): number =>
  octetsBesideText + text.length
