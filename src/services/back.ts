import type { Wording } from '../words/air/wording.js'
import { readDueTime } from './asking/dueTime.js'
import { offsetAtOf } from './asking/readArguments.js'
import { composed } from './compose.js'
import { spanWords } from './geo/words.js'
import type { Answer, Question, Service, ServiceContext } from './service.js'
import { clockWords } from './timeWords.js'
import {
  backMsMax,
  backMsMin,
  dropWatch,
  heardCountsMs,
  keepWatch,
  namedBy,
  type Watch,
  watchesIn,
  watchesMax,
  watchRecords,
} from './watchRecords.js'
import { wordingOf } from './wordingOf.js'

export interface BackOptions {
  /** the operator has stations that are told of alerts */
  readonly tellsOperator: boolean
}

const offWords =
  /^(off|cancel|stop|end|done|safe|home|ok|aus|ende|abbrechen|zuhause|daheim|annule|annuler|fin|arrive|cancelar|fuera|llegue|annulla|fine|arrivato)\b/i

/** `back 18:00 CALL`: who is not heard by then is overdue, and CALL and the operator are told. */
export function backService({ tellsOperator }: BackOptions): Service {
  const whoOf = (call: string | undefined, { say }: Wording): string => {
    if (call === undefined) return say('theOperator')
    return tellsOperator ? say('andOperator', { call }) : call
  }

  const set = (watch: Watch, fromText: string, context: ServiceContext): Answer => {
    const wording = wordingOf(context)
    keepWatch(context, watch)
    const span = spanWords(watch.totalMs, wording)
    return composed([
      wording.say('backSet', { time: watch.dueText, span, from: fromText }),
      wording.say('backElse', { who: whoOf(watch.name ?? watch.call, wording) }),
    ])
  }

  return {
    keyword: 'back',
    summary: 'Overdue watch: CALL is told unless you are heard by then',
    usage: 'back TIME CALL (or: back off)',
    takes: 'text',
    answer(question, context) {
      const wording = wordingOf(context)
      const { say } = wording
      const all = watchesIn(context.storage.read(watchRecords))
      const standing = all.find(({ kind, from }) => kind === 'back' && from === question.from)
      if (question.rest === '') return standsText(standing, whoOf, context)
      if (offWords.test(question.rest)) {
        if (standing === undefined) return say('backNone')
        dropWatch(context, standing)
        return say('backOff')
      }
      const due = dueOf(question, context)
      if (due === undefined) return say('backHow')
      const contact = contactIn(question, context)
      const call = contact?.name ?? contact?.call
      if (due === 'no clock') return say('backNoClock', { call: call ?? '' }).trim()
      if (due.totalMs < backMsMin || due.totalMs > backMsMax) return say('backSoon')
      if (call === undefined && !tellsOperator) return say('backNobody')
      if (standing === undefined && all.length >= watchesMax) return say('backFull')
      const { from, id } = question
      const { totalMs, dueWallMs, dueText } = due
      const watch: Watch = {
        ...{ id, kind: 'back', from, ...contact, totalMs, remainingMs: totalMs },
        ...{ dueWallMs, dueText },
      }
      return set(watch, due.at(totalMs - heardCountsMs(totalMs)), context)
    },
  }
}

function standsText(
  watch: Watch | undefined,
  whoOf: (call: string | undefined, wording: Wording) => string,
  context: ServiceContext,
): Answer {
  const wording = wordingOf(context)
  if (watch === undefined) return composed([wording.say('backNone'), wording.say('backHow')])
  const { dueWallMs, remainingMs } = watch
  const leftMs =
    dueWallMs === undefined
      ? remainingMs
      : Math.min(remainingMs, Math.max(0, dueWallMs - context.clock.wallMs()))
  return wording.say('backStands', {
    time: watch.dueText,
    span: spanWords(leftMs, wording),
    who: whoOf(watch.name ?? watch.call, wording),
  })
}

/** Who is to be told: the last word that is a call sign or a tactical name, and not the asker's. */
const contactIn = (
  { words, from }: Question,
  { names }: ServiceContext,
): ReturnType<typeof namedBy> =>
  words
    .filter((word) => names?.nameOf(word) !== undefined || readDueTime(word) === undefined)
    .map((word) => namedBy(word, names))
    .filter((one) => one !== undefined && one.call !== from)
    .at(-1)

interface Due {
  readonly totalMs: number
  readonly dueWallMs: number | undefined
  readonly dueText: string
  /** so long from now, as it is told */
  at(ms: number): string
}

/** By the wall clock only while that is trusted. */
function dueOf(question: Question, context: ServiceContext): Due | 'no clock' | undefined {
  const { clock, node, clockTrusted = true, clockConfirmed = true } = context
  const time = readDueTime(question.rest)
  if (time === undefined) return undefined
  if (!clockTrusted && time.kind === 'clock') return 'no clock'
  const nowMs = clock.wallMs()
  const offsetAt = offsetAtOf(node)
  const totalMs = time.kind === 'span' ? time.spanMs : untilMs(time.minuteOfDay, nowMs, offsetAt)
  const at = (ms: number): string =>
    clockTrusted
      ? clockWords(nowMs + ms, offsetAt(nowMs + ms))
      : `+${spanWords(ms, wordingOf(context))}`
  const dueWallMs = clockConfirmed ? nowMs + totalMs : undefined
  return { totalMs, dueWallMs, dueText: at(totalMs), at }
}

const dayMs = 86_400_000
const minuteMs = 60_000

/** Until the next time that the clocks show this, local time. */
function untilMs(minuteOfDay: number, nowMs: number, offsetAt: (wallMs: number) => number): number {
  const localMs = nowMs + offsetAt(nowMs) * minuteMs
  const sinceMidnightMs = ((localMs % dayMs) + dayMs) % dayMs
  const ahead = (((minuteOfDay * minuteMs - sinceMidnightMs) % dayMs) + dayMs) % dayMs
  // Where the clocks are changed in between, so is the way to that time.
  const shiftMs = (offsetAt(nowMs + ahead) - offsetAt(nowMs)) * minuteMs
  return ahead - shiftMs > 0 ? ahead - shiftMs : ahead
}
