import { readDueTime } from '../dueTime.js'
import type { Token } from '../tokens.js'
import type { Offered, Understanding } from '../understanding.js'
import {
  askFor,
  callsIn,
  has,
  isByKeyword,
  isQuestion,
  isSmall,
  offer,
  runsOf,
  type Sentence,
} from './sentence.js'

/** Most words that a time takes: 'in 2 hours'. */
const timeWordsMax = 2

const timeWord = /^\d{1,2}([:.h]\d{2})?(h|am|pm|uhr|min)?$|^\d{4}$/
const unitWord =
  /^(uhr|h|am|pm|min|mins|minutes?|minuten|minuti|minutos|hours?|stunden?|heures?|horas?|ore|ora)$/

/** Words of these stand beside a watch: 'quita el aviso', 'down at the car', 'angekommen'. */
const ofWatches: ReadonlySet<string> = new Set(['back', 'board', 'heard', 'tell', 'mail'])

/** '6', '5.30' in a sentence may be in the evening. */
const eitherHalf = /^([1-9]|1[01])([:.h]\d{2})?$/

interface Time {
  readonly text: string
  readonly at: number
  readonly length: number
}

function timeIn(tokens: readonly Token[]): Time | undefined {
  for (const [at, { folded }] of tokens.entries()) {
    if (!timeWord.test(folded)) continue
    const hasUnit = unitWord.test(tokens[at + 1]?.folded ?? '')
    const length = hasUnit ? timeWordsMax : 1
    const text = tokens
      .slice(at, at + length)
      .map((token) => token.folded)
      .join(' ')
    if (readDueTime(text) !== undefined) return { text, at, length }
  }
  return undefined
}

/**
 * 'If I am not back by 18:00 tell Q1XYZ': a watch over who asks. What sounds like it and says no time, or is about somebody else, is
 * offered: a watch that was not wanted helps nobody, and a message that was none goes out at once.
 */
export function overdueAsked(sentence: Sentence, offered: Offered): Understanding | undefined {
  const { tokens, first } = sentence
  const [condition] = runsOf('if', sentence, offered)
  if (condition === undefined) return undefined
  const calls = callsIn(sentence, offered)
  const before = tokens.slice(0, condition.at)
  const toCall = calls.some((at) => at === condition.at - 1)
  // 'Leave Q1ABC if you are late wait' is a message as it stands; 'tell Q1ABC if I am not back' may be both.
  if (isByKeyword(sentence) && first?.service.keyword !== 'tell') return undefined
  const isFirst = before.every((token) => isSmall(token, offered))
  if (!isFirst && !toCall) return undefined
  const behind = { tokens: tokens.slice(condition.at) }
  const isOfReturn = has('not', behind, offered) && has('back', behind, offered)
  const time = timeIn(tokens)
  if (!isOfReturn) return undefined
  if (time === undefined && calls.length === 0) return undefined
  const [to] = calls
  const isOfOther = calls.length > 1 || has('others', behind, offered)
  const ends = to !== undefined && time !== undefined ? Math.max(to, time.at + time.length - 1) : 0
  // Behind the call it may say what to tell; behind 'tell Q1ABC if ...' it makes a message of it.
  const saysMore = toCall && tokens.slice(ends + 1).some((token) => !isSmall(token, offered))
  const call = to === undefined ? '' : tokens[to]!.raw
  if (isOfOther || saysMore || time === undefined)
    return offer(tokens[condition.at]!.raw, ['back', 'leave'], offered)
  return watchAt(time, call, offered)
}

/** '6' may be in the evening: then it is offered. */
function watchAt(time: Time, call: string, offered: Offered): Understanding | undefined {
  const half = eitherHalf.exec(time.text)
  if (half === null) return askFor('back', `${time.text} ${call}`.trim(), offered)
  const later = `${Number(half[1]) + 12}:${half[2]?.slice(1) ?? '00'} ${call}`.trim()
  return offer(time.text, ['back'], offered, later)
}

/** 'Bin um 18 Uhr zurück, sonst Q1ABC anrufen', 'je rentre vers 17h30, sinon appelez Q1XYZ'. */
export function overdueOtherwise(sentence: Sentence, offered: Offered): Understanding | undefined {
  const { tokens, text, first } = sentence
  if (text.includes('?') || (isByKeyword(sentence) && first?.service.keyword !== 'back'))
    return undefined
  const calls = callsIn(sentence, offered)
  const time = timeIn(tokens)
  const [otherwise] = runsOf('otherwise', sentence, offered)
  const [returns] = runsOf('returns', sentence, offered)
  if (otherwise === undefined || returns === undefined || time === undefined) return undefined
  const [call] = calls
  if (calls.length !== 1 || call === undefined) return undefined
  const isInOrder = time.at < otherwise.at && returns.at < otherwise.at && otherwise.at < call
  if (!isInOrder || has('others', { tokens: tokens.slice(0, otherwise.at) }, offered))
    return undefined
  return watchAt(time, tokens[call]!.raw, offered)
}

/** 'Extend my time to 20:00', 'verlängere bis 21 Uhr': a watch is changed by setting it anew, and how is told. */
export function returnChanged(sentence: Sentence, offered: Offered): Understanding | undefined {
  const { tokens, text } = sentence
  if (isByKeyword(sentence) || text.includes('?') || callsIn(sentence, offered).length > 0)
    return undefined
  const [change] = runsOf('extends', sentence, offered)
  const time = timeIn(tokens)
  if (change === undefined || time === undefined) return undefined
  if (!tokens.slice(0, change.at).every((token) => isSmall(token, offered))) return undefined
  const isOther = sentence.all.some(
    ({ strong, service }) => strong && !['back', 'clock'].includes(service.keyword),
  )
  return isOther ? undefined : offer(tokens[change.at]!.raw, ['back'], offered, time.text)
}

/** 'Was anyone back at 6', 'is Q1ABC back': sets no watch over who asks. */
export function returnOfOthers(sentence: Sentence, offered: Offered): Understanding | undefined {
  const { tokens, first } = sentence
  const [returns] = runsOf('returns', sentence, offered)
  if (returns === undefined || returns.at === 0 || has('if', sentence, offered)) return undefined
  if (
    !isQuestion(sentence, offered) ||
    (first?.strong === true && first.service.keyword !== 'back')
  )
    return undefined
  const before = tokens.slice(0, returns.at)
  if (before.some(({ folded }) => oneself.has(folded)) || has('message', sentence, offered))
    return undefined
  const [call, ...others] = callsIn(sentence, offered)
  if (others.length > 0) return undefined
  return call === undefined
    ? offer(tokens[returns.at]!.raw, ['heard', 'board'], offered)
    : askFor('heard', tokens[call]!.raw, offered)
}

const oneself: ReadonlySet<string> = new Set([
  'i',
  'im',
  'we',
  'ich',
  'wir',
  'je',
  'nous',
  'yo',
  'io',
])

/** 'Bin um 18 Uhr zurück', 'torno alle 18': a watch may be wanted, and how it is set is told. */
export function backAtTime(sentence: Sentence, offered: Offered): Understanding | undefined {
  const { tokens, text, all } = sentence
  if (isByKeyword(sentence) || text.includes('?') || callsIn(sentence, offered).length > 0)
    return undefined
  const [returns] = runsOf('returns', sentence, offered)
  const time = timeIn(tokens)
  if (returns === undefined || time === undefined || has('not', sentence, offered)) return undefined
  if (all.some(({ service }) => service.keyword === 'back')) return undefined
  const isOther = tokens.some(
    (token, at) =>
      ![returns, time].some((run) => at >= run.at && at < run.at + run.length) &&
      !unitWord.test(token.folded) &&
      !isSmall(token, offered),
  )
  return isOther ? undefined : offer(tokens[returns.at]!.raw, ['back'], offered, time.text)
}

/**
 * 'Off the hill, cancel the alarm' ends the watch over who asks. That somebody is back says nothing of a watch: how one is ended is told.
 */
export function overdueEnded(sentence: Sentence, offered: Offered): Understanding | undefined {
  const { tokens } = sentence
  if (isByKeyword(sentence) || callsIn(sentence, offered).length > 0) return undefined
  const [off] = runsOf('off', sentence, offered)
  const isBack = has('safe', sentence, offered)
  const isWatch = has('watch', sentence, offered)
  const isEnd = off !== undefined && (isWatch || (isBack && has('notice', sentence, offered)))
  if (isEnd) {
    // 'Turn off the weather alarm' is about no watch of ours.
    const told = (['off', 'watch', 'safe'] as const).flatMap((role) =>
      runsOf(role, sentence, offered),
    )
    const isTold = (index: number): boolean =>
      told.some(({ at, length }) => index >= at && index < at + length)
    const isOfOther = sentence.all.some(
      ({ strong, service, begin }) => strong && !isTold(begin) && !ofWatches.has(service.keyword),
    )
    // 'Nicht mehr aufpassen' is no denial of it.
    const isDenied = runsOf('not', sentence, offered).some(({ at }) => !isTold(at))
    const isDoubtful =
      isOfOther ||
      isDenied ||
      isQuestion(sentence, offered) ||
      sentence.text.includes('?') ||
      tokens.some(({ folded }) => offered.vocabulary.meanings.get(folded)?.keyword === 'help')
    return isDoubtful
      ? offer(tokens[off.at]!.raw, ['back'], offered, 'off')
      : askFor('back', 'off', offered)
  }
  // 'Bin zurück um 18:00' sets one.
  if (sentence.first?.service.keyword === 'back') return undefined
  const [safe] = runsOf('safe', sentence, offered)
  if (safe === undefined || has('not', sentence, offered) || has('if', sentence, offered))
    return undefined
  const isAll = tokens.every(
    (token, at) => (at >= safe.at && at < safe.at + safe.length) || isSmall(token, offered),
  )
  return isAll && offered.services.some(({ keyword }) => keyword === 'back')
    ? offer(tokens[safe.at + safe.length - 1]!.raw, ['back'], offered, 'off')
    : undefined
}
