import type { Clock } from '../runtime/clock.js'
import type { RadioAirtime, Transmitter } from './transmitter.js'

/** A message that a station has been promised, and that has not gone out. */
export interface Promised {
  readonly radio: number
  /** as in Outgoing */
  readonly turn: number
  readonly octetCount: number
  /** monotonic */
  readonly deadlineMs: number
}

/** 'unacknowledged': even a refusal would take the airtime of an answer; the sender's radio tries again by itself. */
export type Verdict = 'admitted' | 'refused' | 'unacknowledged'

/** Decides whether a question can be answered while the answer is of use, before it is acknowledged. */
export interface Admission {
  /**
   * @param turn questions of the same station lately: those with a lower one go first, and each further one may fill less
   */
  judge(question: { readonly radio: number; readonly turn: number }): Verdict
  /** A question was taken; what its answer takes is not known yet. */
  begin(questionId: number, question: { readonly radio: number; readonly turn: number }): void
  /** Its answer, if it has one, is among the promised now. */
  end(questionId: number, answerOctets?: number): void
  /** more than half of what can be sent in time is promised */
  isBusy(radio: number): boolean
}

export interface AdmissionParts {
  readonly clock: Clock
  readonly transmitter: Pick<Transmitter, 'airtime'>
  readonly promised: () => readonly Promised[]
  /** an answer is of no use after this */
  readonly notAfterMs: number
}

/** A frame with addresses and a text of 67 characters: what an answer is taken for until some were given. */
const answerOctetsAtFirst = 105
/** Each answer changes by this share what the next one is taken for. */
const learning = 0.1
const acknowledgementOctets = 34
/** Frames that share the key delay of a transmission when many wait (found by trial). */
const answersTogether = 6
const acknowledgementsTogether = 2
/**
 * Of what can be sent until a moment. The rest is for what nobody foresees: acknowledgements that are repeated, a channel that
 * gets busier. A new question may fill less than what is promised already may take: so an acknowledgement, which goes before
 * the answers, does not push out one that was admitted to the edge, and the next window of the duty limit is promised as well.
 * (Both found by trial: 300 askers in ten minutes, 60 seeds, 177 whole answers on average with 0.88 for both, 197 so.)
 */
const usableToNew = 0.78
const usableToPromised = 0.95
/** A forecast is made anew after so long. */
const forecastMs = 1_000

/** What one radio can send from a moment on. */
interface Forecast {
  readonly atMs: number
  readonly untilMs: number
  /** for first copies of answers, until a moment, ms of the key line; share: as usableToNew, which it is where absent */
  readonly freeMs: (atMs: number, share?: number) => number
  /** of the key line, for an answer of so many octets among others */
  readonly answerMs: (octetCount: number) => number
  readonly acknowledgementMs: number
}

export function admission(parts: AdmissionParts): Admission {
  const { clock } = parts
  const working = new Map<number, Promised>()
  const forecasts = new Map<number, Forecast>()
  let answerOctets = answerOctetsAtFirst

  const forecastFor = (radio: number): Forecast | undefined => {
    const atMs = clock.monotonicMs()
    const known = forecasts.get(radio)
    if (known !== undefined && atMs - known.atMs < forecastMs) return known
    const airtime = parts.transmitter.airtime(radio)
    if (airtime === undefined) return undefined
    const made = forecast(airtime, atMs, atMs + parts.notAfterMs)
    forecasts.set(radio, made)
    return made
  }

  const promisedOn = (radio: number): readonly Promised[] =>
    [...parts.promised(), ...working.values()]
      .filter((one) => one.radio === radio)
      .sort((a, b) => a.turn - b.turn)

  const expected = ({ radio, turn }: { radio: number; turn: number }): Promised => ({
    ...{ radio, turn, octetCount: answerOctets },
    deadlineMs: clock.monotonicMs() + parts.notAfterMs,
  })

  return {
    judge(question) {
      const ahead = forecastFor(question.radio)
      if (ahead === undefined) return 'admitted'
      const promised = promisedOn(question.radio)
      if (!allInTime(ahead, promised, expected({ ...question, turn: 0 }))) return 'unacknowledged'
      const own = expected(question)
      const shareMs = ahead.freeMs(ahead.untilMs) / (1 + question.turn)
      const isWithinShare = totalMs(ahead, [...promised, own]) <= shareMs
      return isWithinShare && allInTime(ahead, promised, own) ? 'admitted' : 'refused'
    },
    begin(questionId, question) {
      working.set(questionId, expected(question))
    },
    end(questionId, octets) {
      working.delete(questionId)
      if (octets !== undefined) answerOctets += learning * (octets - answerOctets)
    },
    isBusy(radio) {
      const ahead = forecastFor(radio)
      if (ahead === undefined) return false
      return totalMs(ahead, promisedOn(radio)) > ahead.freeMs(ahead.untilMs) / 2
    },
  }
}

function forecast(airtime: RadioAirtime, atMs: number, untilMs: number): Forecast {
  const { keyedMs, paceShare, aheadMs } = airtime
  const sendableMs = airtime.forecast(untilMs, 'answer')
  // A frame takes the same for each octet; stuffing, some 2 %, is left out.
  const besidesMs = keyedMs([])
  const longMs = keyedMs([new Uint8Array(200).fill(0x55)])
  const octetMs = (longMs - keyedMs([new Uint8Array(100).fill(0x55)])) / 100
  const frameMs = longMs - besidesMs - 200 * octetMs
  return {
    ...{ atMs, untilMs },
    // Others are on the air as well: however much the duty limit allows, the channel gives no more than its pace.
    freeMs: (momentMs, share = usableToNew) =>
      share * Math.min(sendableMs(momentMs), paceShare * (momentMs - atMs)) - aheadMs,
    answerMs: (octetCount) => octetMs * octetCount + frameMs + besidesMs / answersTogether,
    acknowledgementMs:
      octetMs * acknowledgementOctets + frameMs + besidesMs / acknowledgementsTogether,
  }
}

/**
 * With one more, and its acknowledgement, which goes before all else: is everything that was in time still in time, and the
 * new one as well?
 * @param promised in the order in which it goes out
 */
function allInTime(ahead: Forecast, promised: readonly Promised[], added: Promised): boolean {
  const { answerMs, freeMs, acknowledgementMs } = ahead
  const addedMs = answerMs(added.octetCount)
  let sumMs = 0
  let moreMs = acknowledgementMs
  let isPlaced = false
  for (const one of promised) {
    if (!isPlaced && one.turn > added.turn) {
      isPlaced = true
      moreMs += addedMs
      if (sumMs + moreMs > freeMs(added.deadlineMs)) return false
    }
    sumMs += answerMs(one.octetCount)
    const limitMs = freeMs(one.deadlineMs, usableToPromised)
    if (sumMs <= limitMs && sumMs + moreMs > limitMs) return false
  }
  return isPlaced || sumMs + moreMs + addedMs <= freeMs(added.deadlineMs)
}

const totalMs = ({ answerMs }: Forecast, promised: readonly Promised[]): number =>
  promised.reduce((sumMs, { octetCount }) => sumMs + answerMs(octetCount), 0)
