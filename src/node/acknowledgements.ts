import { formatAcknowledgement, formatRejection } from '../aprs/format.js'
import type { MessagePayload } from '../aprs/types.js'
import type { Cancel, Clock } from '../runtime/clock.js'
import { setNewest } from '../runtime/setNewest.js'
import type { QuestionRecord } from '../store/questions.js'
import type { Heard } from './intake.js'
import { questionReference } from './journal.js'
import type { NodeOptions } from './options.js'
import type { Transmitter } from './transmitter.js'

export type Response = 'acknowledge' | 'reject'

/** Tells senders that their numbered messages arrived: at once, and again when they go on sending. */
export interface Acknowledgements {
  /** of a question that is in the database now */
  first(question: QuestionRecord, heard: Heard, payload: MessagePayload, response: Response): void
  /** of a copy or a repetition */
  heardAgain(
    question: QuestionRecord,
    heard: Heard,
    payload: MessagePayload,
    response: Response,
  ): void
  /**
   * false where its sender was never told that a question arrived, nor is about to be; true where that is not known any
   * more
   */
  isAcknowledged(question: QuestionRecord): boolean
  stop(): void
}

/** How a question came; only in memory, as every repetition tells it again. */
interface Hearing {
  /** as its latest copy had it: a reply-acknowledgement changes what follows the number */
  numberAsSent: string
  /** by which its copies came, the newest last */
  readonly paths: Map<string, true>
  lastHeardMs: number
  /** when an acknowledgement was sent last; undefined before the first */
  respondedMs: number | undefined
  /** one was in a transmission that was cut: it may have gone out */
  mayBeTold: boolean
  /** one is with a radio */
  waits: boolean
  cancelLater: Cancel | undefined
}

const hearingsMax = 1_000
/** Somebody may repeat one question for ever, each time by another way. */
const pathsMax = 20
/**
 * An acknowledgement is of no use later: the sender's radio has given up by then. Where the duty limit is reached, it may have
 * to wait longer than for the first repetition.
 */
const lifeMs = 120_000
/**
 * A digipeater repeats within this, also on a busy channel; what comes later is a new transmission
 * (common practice, no source).
 */
const digipeatedWithinMs = 8_000
/** A repetition that came sooner was sent before the acknowledgement could be heard. */
const tooSoonMs = 4_000

const notHeardYet = (): Hearing => ({
  ...{ numberAsSent: '', paths: new Map<string, true>(), lastHeardMs: 0 },
  ...{ respondedMs: undefined, mayBeTold: false, waits: false, cancelLater: undefined },
})

export function acknowledgements(parts: {
  readonly clock: Clock
  readonly options: NodeOptions
  readonly transmitter: Transmitter
  readonly pathTo: (call: string) => readonly string[]
}): Acknowledgements {
  const { clock } = parts
  const hearings = new Map<number, Hearing>()
  let stopped = false

  const remember = (id: number, heard: Heard, payload: MessagePayload): Hearing => {
    const hearing = hearings.get(id) ?? notHeardYet()
    hearing.numberAsSent = payload.numberAsSent ?? payload.number ?? ''
    setNewest(hearing.paths, heard.via.join(), true, pathsMax)
    hearing.lastHeardMs = clock.monotonicMs()
    setNewest(hearings, id, hearing, hearingsMax)
    return hearing
  }

  const respond = (question: QuestionRecord, hearing: Hearing, response: Response): void => {
    if (stopped) return
    hearing.cancelLater?.()
    hearing.cancelLater = undefined
    hearing.waits = true
    const acknowledges = response === 'acknowledge'
    const format = acknowledges ? formatAcknowledgement : formatRejection
    parts.transmitter.send({
      payload: format({ addressee: question.from, number: hearing.numberAsSent }),
      path: parts.pathTo(question.from),
      radio: question.radio,
      priority: 'acknowledgement',
      notAfterMs: clock.monotonicMs() + lifeMs,
      station: question.from,
      reference: questionReference(question.id),
      text: `${acknowledges ? 'acknowledgement' : 'rejection'} of ${question.number}`,
      onEnd: (outcome) => {
        hearing.waits = false
        if (outcome.kind === 'sent') hearing.respondedMs = clock.monotonicMs()
        else if (outcome.kind === 'refused' && outcome.airtimeMs !== undefined)
          hearing.mayBeTold = true
      },
    })
  }

  const respondLater = (
    question: QuestionRecord,
    hearing: Hearing,
    response: Response,
    waitMs: number,
  ): void => {
    hearing.cancelLater ??= clock.at(clock.monotonicMs() + waitMs, () => {
      hearing.cancelLater = undefined
      respond(question, hearing, response)
    })
  }

  return {
    first(question, heard, payload, response) {
      if (question.number === undefined) return
      respond(question, remember(question.id, heard, payload), response)
    },
    heardAgain(question, heard, payload, response) {
      if (question.number === undefined) return
      const before = hearings.get(question.id)
      const atOnce =
        before !== undefined && clock.monotonicMs() - before.lastHeardMs <= digipeatedWithinMs
      // Two radios on one channel hear everything twice; the first one has it.
      if (atOnce && heard.frame.radio !== question.radio) return
      // The same way again, or later than a digipeater would, is a repetition by the sender, who has not
      // heard us. Another way at once is the same transmission through a digipeater: the answer to it waits.
      const repeated = !atOnce || before.paths.has(heard.via.join())
      const hearing = remember(question.id, heard, payload)
      if (hearing.waits) return
      const sinceMs = clock.monotonicMs() - (hearing.respondedMs ?? Number.NEGATIVE_INFINITY)
      const gapMs = repeated ? tooSoonMs : parts.options.copies.acknowledgeAgainMs
      if (sinceMs >= gapMs) respond(question, hearing, response)
      else
        respondLater(question, hearing, response, parts.options.copies.acknowledgeAgainMs - sinceMs)
    },
    isAcknowledged: ({ id, number }) => number !== undefined && isTold(hearings.get(id)),
    stop() {
      stopped = true
      for (const hearing of hearings.values()) hearing.cancelLater?.()
    },
  }
}

/** Has been told, or is about to be; where that is not known, it was. */
const isTold = (hearing: Hearing | undefined): boolean =>
  hearing === undefined || hearing.waits || hearing.mayBeTold || hearing.respondedMs !== undefined
