import { formatMessage } from '../aprs/format.js'
import { bad, good, type Result } from '../ax25/result.js'
import type { Priority } from '../radio/port.js'
import type { Cancel } from '../runtime/clock.js'
import { errorText } from '../runtime/errorText.js'
import type { MessageRecord } from '../store/messages.js'

/** A message of ours on its way. */
export interface Letter {
  readonly message: MessageRecord
  /** monotonic */
  readonly deadlineMs: number
  /** idle: its turn has not come; on-air: with a radio; unheard: waits for an acknowledgement */
  state: 'idle' | 'on-air' | 'unheard' | 'parked'
  /** transmissions since it was taken up or heard of again */
  attempts: number
  /** transmissions in all */
  total: number
  /** why it is transmitted no more than once from now on */
  onlyOnce?: string | undefined
  cancel?: Cancel | undefined
}

/**
 * A letter for a message as the database has it.
 * @param wallMs undefined while the clock is not trusted: then the message has its whole time before it
 */
export function letterFor(
  message: MessageRecord,
  nowMs: number,
  wallMs: number | undefined,
): Letter {
  // A clock that was set in between must not make an old answer young.
  const { notAfterWallMs, createdWallMs } = message
  const wholeMs = notAfterWallMs - createdWallMs
  const leftMs = wallMs === undefined ? wholeMs : notAfterWallMs - wallMs
  const lifeMs = Math.max(0, Math.min(leftMs, wholeMs))
  return {
    message,
    deadlineMs: nowMs + lifeMs,
    state: message.state === 'parked' ? 'parked' : 'idle',
    attempts: 0,
    total: message.attempts,
  }
}

const rank: Readonly<Record<MessageRecord['kind'], number>> = {
  reply: 0,
  answer: 1,
  prompt: 2,
  mailbox: 3,
  report: 4,
}

/** An answer never waits for somebody's mail to be acknowledged. */
const laneOf = (message: MessageRecord): 'answers' | 'mail' =>
  rank[message.kind] <= 1 ? 'answers' : 'mail'

export const priorityOf = (message: MessageRecord): Priority =>
  laneOf(message) === 'answers' ? 'answer' : 'mailbox'

/** The letters to one station, by lane, each lane in the order in which they go out. */
export function inLanes(letters: Iterable<Letter>): readonly (readonly Letter[])[] {
  const ordered = [...letters].sort(
    (a, b) => rank[a.message.kind] - rank[b.message.kind] || a.message.id - b.message.id,
  )
  return (['answers', 'mail'] as const).map((lane) =>
    ordered.filter(({ message }) => laneOf(message) === lane),
  )
}

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

/** The letters under way, by message and by station. */
export interface LetterRack {
  add(letter: Letter): void
  remove(letter: Letter): void
  /** false once it has ended, or another letter carries its message */
  has(letter: Letter): boolean
  all(): readonly Letter[]
  /** as they are now: those that end meanwhile stay in the list */
  to(station: string): readonly Letter[]
  readonly count: number
}

export function letterRack(): LetterRack {
  const byMessage = new Map<number, Letter>()
  const byStation = new Map<string, Set<Letter>>()
  return {
    add(letter) {
      const { id, to } = letter.message
      byMessage.set(id, letter)
      const others = byStation.get(to) ?? new Set()
      others.add(letter)
      byStation.set(to, others)
    },
    remove(letter) {
      const { id, to } = letter.message
      byMessage.delete(id)
      const others = byStation.get(to)
      others?.delete(letter)
      if (others?.size === 0) byStation.delete(to)
    },
    has: (letter) => byMessage.get(letter.message.id) === letter,
    all: () => [...byMessage.values()],
    to: (station) => [...(byStation.get(station) ?? [])],
    get count() {
      return byMessage.size
    },
  }
}
