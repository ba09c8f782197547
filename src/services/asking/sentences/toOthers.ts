import { phraseAt } from '../findMeanings.js'
import { toWords } from '../toStations.js'
import type { Offered, Understanding } from '../understanding.js'
import {
  askFor,
  callsIn,
  has,
  isByKeyword,
  isSmall,
  offer,
  opens,
  type Run,
  runsOf,
  type Sentence,
  textAfter,
} from './sentence.js'

/** Words before the call in 'aviso a Q1ABC: …'. */
const headWordsMax = 3

/**
 * 'Aviso a Q1ABC: llego tarde', 'let Q1ABC know that we are late', 'kannst du Q1ABC sagen dass …': a message, whatever its words are
 * about.
 */
export function toldToStation(sentence: Sentence, offered: Offered): Understanding | undefined {
  const { text, tokens } = sentence
  const [call] = callsIn(sentence, offered)
  if (call === undefined || call === 0 || call === tokens.length - 1) return undefined
  if (isByKeyword(sentence)) return undefined
  const leave = (from: number): Understanding =>
    askFor('leave', `${tokens[call]!.raw} ${textAfter(sentence, from)}`, offered)
  const before = tokens.slice(0, call)
  const hasColon = /^\s*:\s*\S/.test(text.slice(tokens[call]!.end))
  // 'An Q1ABC: …' alone may be meant for Q1ABC itself, and is offered.
  const isHeaded = before.length > 1 && toWords.has(before.at(-1)!.folded)
  const isLeft = sentence.first?.service.keyword === 'leave'
  if (hasColon && isHeaded && !isLeft && before.length <= headWordsMax) return leave(call + 1)
  const thatAt = (at: number): number =>
    runsOf('that', sentence, offered).find((run) => run.at === at)?.length ?? 0
  const telling = before.filter((token) => !isSmall(token, offered) && !toWords.has(token.folded))
  const [let_] = runsOf('let', { tokens: before }, offered)
  const isLet =
    let_ !== undefined &&
    before.every(
      (token, at) =>
        (at >= let_.at && at < let_.at + let_.length) ||
        isSmall(token, offered) ||
        toWords.has(token.folded),
    )
  if (isLet && (thatAt(call + 1) > 0 || let_.length > 1)) {
    const from = call + 1 + thatAt(call + 1)
    return from >= tokens.length ? undefined : leave(from)
  }
  // 'Kannst du Q1ABC sagen, dass'
  const isVerb = offered.vocabulary.sending.has(tokens[call + 1]!.folded)
  const isAsked = telling.length === 0 && before.length > 1
  const from = call + 2 + thatAt(call + 2)
  return isVerb && isAsked && !text.includes('?') && from < tokens.length ? leave(from) : undefined
}

/** 'To all: dinner at 7', 'sag allen dass …': for everybody, and how that is put on the board is told. */
export function toldToEverybody(sentence: Sentence, offered: Offered): Understanding | undefined {
  const { tokens, first, text } = sentence
  const { sending, meanings, greetings, thanks } = offered.vocabulary
  const [everybody] = runsOf('everybody', sentence, offered)
  if (everybody === undefined || isByKeyword(sentence) || text.includes('?')) return undefined
  const end = everybody.at + everybody.length
  const hasColon = /^\s*:/.test(text.slice(tokens[end - 1]!.end))
  // 'A tous: clé trouvée, voir Q1ABC' is for all, whoever is named in it.
  const isOfCall = callsIn(sentence, offered).some((at) => !hasColon || at < end)
  if (tokens.length < end + 1 || isOfCall) return undefined
  const before = tokens.slice(0, everybody.at)
  const messages = [
    ...runsOf('message', { tokens: before }, offered),
    ...puttingIn(before, offered),
  ]
  const isHead = (at: number): boolean => {
    const { folded } = before[at]!
    if (greetings.has(folded) || thanks.has(folded)) return false
    return (
      messages.some((run) => at >= run.at && at < run.at + run.length) ||
      sending.has(folded) ||
      folded === 'tell' ||
      toWords.has(folded) ||
      ['leave', 'tell', 'board', 'post'].includes(meanings.get(folded)?.keyword ?? '') ||
      (first?.service.keyword === 'leave' && at < first.begin + first.length) ||
      isSmall(before[at]!, offered)
    )
  }
  if (!before.every((_, at) => isHead(at))) return undefined
  const word = tokens.slice(everybody.at, end).map(({ raw }) => raw)
  return offer(word.join(' '), ['post'], offered)
}

const puttingIn = (
  tokens: Sentence['tokens'],
  { vocabulary: { putting, phraseMax } }: Offered,
): readonly Run[] =>
  tokens.flatMap((_, at) => {
    const length = phraseAt(tokens, at, phraseMax, (phrase) => putting.has(phrase))
    return length > 0 ? [{ at, length }] : []
  })

/** 'Did anyone leave me a message', 'hat mir wer was hinterlassen': what waits for the asker. */
export function leftForAsker(sentence: Sentence, offered: Offered): Understanding | undefined {
  const { tokens } = sentence
  if (isByKeyword(sentence) || callsIn(sentence, offered).length > 0) return undefined
  const isLeft = has('someone', sentence, offered) && has('left', sentence, offered)
  const isOfMe = tokens.some(({ folded }) => meWords.has(folded))
  return isLeft && (isOfMe || has('message', sentence, offered))
    ? askFor('collect', '', offered)
    : undefined
}

const meWords: ReadonlySet<string> = new Set([
  'me',
  'mir',
  'm',
  'moi',
  'mi',
  'us',
  'uns',
  'nous',
  'ci',
])

const mailWords: ReadonlySet<string> = new Set([
  ...['email', 'emails', 'mail', 'mails', 'courriel', 'correo', 'correos', 'eposta'],
])

/** 'Can I send an email': how a message is left is told, and with it whether mail goes out; none of those that wait is meant. */
export function mailToSend(sentence: Sentence, offered: Offered): Understanding | undefined {
  const { tokens } = sentence
  if (isByKeyword(sentence) || callsIn(sentence, offered).length > 0) return undefined
  const mail = tokens.find(({ folded }) => mailWords.has(folded))
  const isSending = tokens.some(({ folded }) => offered.vocabulary.sending.has(folded))
  if (mail === undefined || !isSending || has('forMe', sentence, offered)) return undefined
  if (has('mine', sentence, offered) || has('someone', sentence, offered)) return undefined
  const isOther = tokens.some(
    (token) =>
      !isSmall(token, offered) &&
      !mailWords.has(token.folded) &&
      !offered.vocabulary.sending.has(token.folded) &&
      !['collect', 'leave', 'mail'].includes(
        offered.vocabulary.meanings.get(token.folded)?.keyword ?? '',
      ),
  )
  return isOther ? undefined : offer(mail.raw, ['leave'], offered)
}

/** 'Dorsal 23 pasó', 'runner 45 is through': a report, which is for whoever runs the event. */
export function runnerReported(sentence: Sentence, offered: Offered): Understanding | undefined {
  const { tokens, text } = sentence
  if (isByKeyword(sentence) || text.includes('?')) return undefined
  const runner = runsOf('runner', sentence, offered).find(({ at }) =>
    /^\d{1,5}$/.test(tokens[at + 1]?.folded ?? ''),
  )
  if (runner === undefined) return undefined
  // 'Number 2' may be a count.
  if (
    tokens.length < 3 ||
    sentence.all.some(({ strong, service }) => strong && service.keyword !== 'pass')
  )
    return undefined
  return offer(
    `${tokens[runner.at]!.raw} ${tokens[runner.at + 1]!.raw}`,
    ['post', 'leave'],
    offered,
  )
}

const readingWord =
  /^(get|check|see|lese|bekomme|empfange|lis|recois|leo|recibo|leggo|ricevo|view|open|delete)$/

/** 'How do I leave a message for someone', 'wie schick ich eine Nachricht': how one is left is told, and none of those that wait is meant. */
export function howToLeave(sentence: Sentence, offered: Offered): Understanding | undefined {
  const { tokens } = sentence
  const { meanings, roles } = offered.vocabulary
  if (isByKeyword(sentence) || callsIn(sentence, offered).length > 0) return undefined
  const [how] = runsOf('how', sentence, offered)
  const [noun] = runsOf('message', sentence, offered)
  if (how?.at !== opens(sentence, offered) || noun === undefined) return undefined
  if (has('mine', sentence, offered) || has('forMe', sentence, offered)) return undefined
  const isOfMail = tokens.some(({ folded }) => mailWords.has(folded))
  const isRead = tokens.some(
    ({ folded }, at) =>
      (at < noun.at || at >= noun.at + noun.length) &&
      (meanings.get(folded)?.keyword === 'collect' ||
        roles.get('delivered')!.has(folded) ||
        readingWord.test(folded)),
  )
  return isOfMail || isRead ? undefined : askFor('leave', '', offered)
}
