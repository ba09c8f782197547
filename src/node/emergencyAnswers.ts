import { formatMessage } from '../aprs/format.js'
import type { Clock } from '../runtime/clock.js'
import { wallAgeMs } from '../runtime/clockTrust.js'
import type { MessageRecord } from '../store/messages.js'
import type { QuestionRecord } from '../store/questions.js'
import type { Store } from '../store/store.js'
import { heldCalls } from './emergencyHeld.js'
import { emergencyWindowMs } from './emergencyMarks.js'
import { type EmergencyTurn, type EmergencyTurns, emergencyTurns } from './emergencyTurns.js'
import type { Heard } from './intake.js'
import { type Journal, messageReference } from './journal.js'
import type { NodeOptions } from './options.js'
import type { Outbox } from './outbox.js'
import type { Transmitter } from './transmitter.js'

/** Answers to calls for help: the operator's words, once to a station in a while, and bounded in all. */
export interface EmergencyAnswers {
  /** of a message; counts what is answered at once */
  turnOf(station: string): EmergencyTurn
  /**
   * Inside the transaction that keeps the question.
   * @param replyTo as in MessageRecord
   */
  insert(
    question: QuestionRecord,
    turn: 'at once' | 'in turn',
    replyTo: string | undefined,
  ): MessageRecord
  /** The same where the database cannot keep it: sent once. */
  answerUnkept(station: string, radio: number): void
  /**
   * Answers a position, a status or a call to everybody; while its radio may not send, once it may, within the time in which an
   * answer is of use. @returns why it is not answered now
   */
  answerUnasked(heard: Heard): string | undefined
  /** The answer to a question goes out again. */
  sentAgain(station: string, questionId: number): void
  /** A call is not answered again by an old answer of its own where its station has had another one lately. */
  wasAnsweredElse(station: string, questionId: number): boolean
  /** Nothing of an answer went out: the next call of its station is the first one again. */
  lost(station: string): void
  /** Knows again whom a former run has answered. */
  resume(): void
  stop(): void
}

interface EmergencyParts {
  readonly clock: Clock
  readonly store: Store
  readonly note: Journal
  readonly options: NodeOptions
  readonly outbox: () => Pick<Outbox, 'add'>
  readonly transmitter: Pick<Transmitter, 'send' | 'blockedBy'>
  readonly pathTo: (call: string) => readonly string[]
  /** inside a transaction */
  readonly newNumber: (call: string) => string
}

export function emergencyAnswers(parts: EmergencyParts): EmergencyAnswers {
  const { clock, store, options } = parts
  const replyText = (): string => options.emergency.reply
  const turns = emergencyTurns(clock)

  const insertAnswer = (
    to: string,
    radio: number,
    of: Pick<MessageRecord, 'kind' | 'number' | 'replyTo' | 'questionId'>,
    lifeMs = options.answers.notAfterMs,
  ): MessageRecord => {
    const wallMs = clock.wallMs()
    turns.noteAnswered(to, of.questionId)
    return store.messages.insert({
      ...of,
      ...{ to, radio, text: replyText(), mailboxId: undefined, state: 'waiting' },
      createdWallMs: wallMs,
      notAfterWallMs: wallMs + lifeMs,
    })
  }

  const answerUnkept = (
    station: string,
    radio: number,
    lifeMs = options.answers.notAfterMs,
  ): void => {
    const text = replyText()
    turns.noteAnswered(station)
    parts.transmitter.send({
      payload: formatMessage({ addressee: station, text }),
      path: parts.pathTo(station),
      ...{ radio, station, text, priority: 'emergency' },
      notAfterMs: clock.monotonicMs() + lifeMs,
    })
  }

  const unasked = unaskedAnswers(parts, turns, { insertAnswer, answerUnkept })

  return {
    turnOf: turns.turnOf,
    insert({ from, radio, id: questionId, number }, turn, replyTo) {
      return insertAnswer(from, radio, {
        kind: turn === 'at once' ? 'emergency' : 'answer',
        number: number === undefined ? undefined : parts.newNumber(from),
        replyTo: number === undefined ? undefined : replyTo,
        questionId,
      })
    },
    answerUnkept: (station, radio) => answerUnkept(station, radio),
    answerUnasked: unasked.answer,
    sentAgain: turns.noteAnswered,
    wasAnsweredElse: turns.wasAnsweredElse,
    lost: turns.forget,
    resume: () => noteFormerAnswers(parts, turns),
    stop: unasked.stop,
  }
}

/** Answers to what is no message: at once, or when its radio may send again. */
function unaskedAnswers(
  parts: EmergencyParts,
  turns: EmergencyTurns,
  { insertAnswer, answerUnkept }: UnaskedWays,
): { answer(heard: Heard): string | undefined; stop(): void } {
  const { clock, store, note, options } = parts

  /** @returns why it is not answered */
  const answerNow = (from: string, radio: number, lifeMs: number): string | undefined => {
    const refusal = turns.refusalOfUnasked(from)
    if (refusal !== undefined) return refusal
    const kept = store.durably('an answer to a call for help', () => {
      const number = parts.newNumber(from)
      const of = { kind: 'emergency', number, replyTo: undefined, questionId: undefined } as const
      return insertAnswer(from, radio, of, lifeMs)
    })
    if (!kept.ok) {
      answerUnkept(from, radio, lifeMs)
      return undefined
    }
    const reference = messageReference(kept.value.id)
    note('answered', options.emergency.reply, { station: from, radio, reference })
    parts.outbox().add([kept.value])
    return undefined
  }

  const held = heldCalls({
    clock,
    isHeld: (radio) => parts.transmitter.blockedBy(radio) !== undefined,
    answer(station, { radio, notAfterMs }) {
      answerNow(station, radio, notAfterMs - clock.monotonicMs())
    },
  })

  const answer = ({ from, frame, thirdParty }: Heard): string | undefined => {
    const { radio } = frame
    if (thirdParty) return 'a call for help that another station passed on is not answered'
    const { notAfterMs: lifeMs } = options.answers
    const blocked = parts.transmitter.blockedBy(radio)
    if (blocked === undefined) return answerNow(from, radio, lifeMs)
    held.keep(from, radio, clock.monotonicMs() + lifeMs)
    return blocked
  }
  return { answer, stop: held.stop }
}

interface UnaskedWays {
  /** inside a transaction */
  readonly insertAnswer: (
    to: string,
    radio: number,
    of: Pick<MessageRecord, 'kind' | 'number' | 'replyTo' | 'questionId'>,
    lifeMs: number,
  ) => MessageRecord
  readonly answerUnkept: (station: string, radio: number, lifeMs: number) => void
}

/** Who was answered is not answered again; of several answers that a safe start left, the newest is the one that is given. */
function noteFormerAnswers(parts: EmergencyParts, turns: EmergencyTurns): void {
  const { store, clock, options } = parts
  const wallMs = clock.wallMs()
  // Those that waited for their turn went out as answers.
  const isOurs = ({ kind, text }: MessageRecord): boolean =>
    kind === 'emergency' || (kind === 'answer' && text === options.emergency.reply)
  const underWay = store.messages.open().filter(isOurs)
  const lately = store.messages.query({ sinceWallMs: wallMs - emergencyWindowMs }).filter(isOurs)
  const byId = new Map([...underWay, ...lately].map((message) => [message.id, message]))
  const newest = new Map<string, number>()
  for (const { id, to } of byId.values()) newest.set(to, Math.max(id, newest.get(to) ?? id))
  for (const message of underWay)
    if (newest.get(message.to) !== message.id) giveUpOlder(parts, message)
  for (const { id, to: station, kind, questionId, createdWallMs } of byId.values()) {
    // What is under way counts whatever the clock says, which may have been set, or have begun anew with the power.
    const isUnderWay = underWay.some((one) => one.id === id)
    const ageMs = wallAgeMs(createdWallMs, wallMs)
    const isLate = ageMs === undefined || ageMs >= emergencyWindowMs
    const agoMs = isUnderWay && isLate ? 0 : ageMs
    const wasAtOnce = kind === 'emergency'
    if (agoMs !== undefined) turns.noteFormer({ station, questionId, agoMs, wasAtOnce })
  }
}

function giveUpOlder({ store, clock, note }: EmergencyParts, message: MessageRecord): void {
  const { id, to: station, radio, text } = message
  const reason = 'a newer answer to its calls for help was given'
  store.durably('the end of a message', () =>
    store.messages.end(id, 'given up', clock.wallMs(), reason),
  )
  note('given up', text, { station, radio, reference: messageReference(id), reason })
}
