import { phraseAt } from '../findMeanings.js'
import type { Token } from '../tokens.js'
import { toWords } from '../toStations.js'
import type { Offered, Understanding } from '../understanding.js'
import {
  callsIn,
  has,
  isByKeyword,
  isSmall,
  offer,
  opens,
  runsOf,
  type Sentence,
} from './sentence.js'

/**
 * 'Stop sending weather alerts', 'kein Wetter mehr', 'turn off alerts': nothing is wanted, and nothing is sent. Only where all else in the
 * text is what a node may send unasked: 'no weather station in Oberwald' is none.
 */
export function updatesUnwanted(sentence: Sentence, offered: Offered): Understanding | undefined {
  const { text, tokens } = sentence
  const { vocabulary } = offered
  if (isByKeyword(sentence) || text.includes('?')) return undefined
  if (callsIn(sentence, offered).length > 0 || has('forMe', sentence, offered)) return undefined
  const updates = runsOf('updates', sentence, offered)
  if (updates.length === 0) return undefined
  const cancelled = tokens.flatMap((_, at) => {
    const length = phraseAt(tokens, at, vocabulary.phraseMax, (one) => vocabulary.cancel.has(one))
    return length > 0 && !vocabulary.ignored.has(tokens[at]!.folded) ? [{ at, length }] : []
  })
  const unwanted = runsOf('unwanted', sentence, offered)
  // 'Para' is 'for', too.
  const off = runsOf('off', sentence, offered).filter(
    ({ at }) => !vocabulary.ignored.has(tokens[at]!.folded),
  )
  const ends = [...cancelled, ...unwanted, ...off]
  const isBegun = [...cancelled, ...unwanted].some(({ at }) => at <= opens(sentence, offered))
  const isEnded = ends.some(({ at, length }) => at > 0 && at + length === tokens.length)
  if (!isBegun && !isEnded) return undefined
  const covered = new Set(
    [...ends, ...updates].flatMap(({ at, length }) => [...Array(length).keys()].map((n) => at + n)),
  )
  const isOther = tokens.some(
    (token, at) =>
      !covered.has(at) && !isSmall(token, offered) && !vocabulary.sending.has(token.folded),
  )
  // 'Cancel my message' takes one back.
  const isMine =
    (has('mine', sentence, offered) && has('message', sentence, offered)) ||
    sentence.all.some(({ strong, service }) => strong && service.keyword === 'mail')
  return isOther || isMine ? undefined : { kind: 'greeting', sort: 'cancel' }
}

/** 'Do not tell Q1ABC': nothing is left for anybody, nor is it heard of. */
export function notToBeTold(sentence: Sentence, offered: Offered): Understanding | undefined {
  const { tokens } = sentence
  const [call] = callsIn(sentence, offered)
  if (call === undefined) return undefined
  // 'Sag Q1ABC nichts'
  const behind = tokens.slice(call + 1)
  const nothing = runsOf('not', { tokens: behind }, offered)
  const isNothing =
    nothing.length > 0 && nothing.reduce((sum, { length }) => sum + length, 0) === behind.length
  return (isDenied(sentence, offered) || isNothing) && isTellingBefore(call, sentence, offered)
    ? offer(tokens[call]!.raw, ['leave', 'mail'], offered)
    : undefined
}

const nobody = /^(nobody|niemand(en|em)?|nadie|nessuno)$/
/** Nobody only where the sentence denies. */
const anybody = /^(anybody|anyone|personne)$/

/** 'Tell nobody, I am back', 'non avvisare nessuno, sono giù': a watch is meant, and how it is ended is told. */
export function nobodyToBeTold(sentence: Sentence, offered: Offered): Understanding | undefined {
  const { tokens } = sentence
  const at = tokens.findIndex(({ folded }) => nobody.test(folded) || anybody.test(folded))
  const isMore = at > opens(sentence, offered) && at < tokens.length - 1
  if (!isMore || callsIn(sentence, offered).length > 0) return undefined
  const { raw, folded } = tokens[at]!
  return (nobody.test(folded) || isDenied(sentence, offered)) &&
    isTellingBefore(at, sentence, offered)
    ? offer(raw, ['back'], offered, 'off')
    : undefined
}

/** Begins with a 'no'; 'stop' and 'cancel' are of messages that are there. */
function isDenied(sentence: Sentence, offered: Offered): boolean {
  const begin = opens(sentence, offered)
  return [...runsOf('not', sentence, offered), ...runsOf('unwanted', sentence, offered)].some(
    ({ at }) => at === begin && !offered.vocabulary.cancel.has(sentence.tokens[at]!.folded),
  )
}

function isTellingBefore(to: number, sentence: Sentence, offered: Offered): boolean {
  const { sending, meanings, roles } = offered.vocabulary
  return sentence.tokens
    .slice(opens(sentence, offered), to)
    .some(
      ({ folded }) =>
        ['tell', 'leave'].includes(folded) ||
        sending.has(folded) ||
        roles.get('tell')?.has(folded) === true ||
        ['tell', 'leave'].includes(meanings.get(folded)?.keyword ?? ''),
    )
}

/** 'Cancel my message to Q1ABC', 'lösche meine Nachricht': the sender's own messages, and how one is taken back. */
export function messageTakenBack(sentence: Sentence, offered: Offered): Understanding | undefined {
  const { tokens, text } = sentence
  if (isByKeyword(sentence) || text.includes('?')) return undefined
  // 'Para' is 'for', too.
  const [off] = runsOf('off', sentence, offered).filter(
    ({ at, length }) => length > 1 || !offered.vocabulary.ignored.has(tokens[at]!.folded),
  )
  const messages = runsOf('message', sentence, offered)
  if (off === undefined || messages.length === 0) return undefined
  const calls = callsIn(sentence, offered)
  // 'Forget that last message'
  const isLast = messages.some(({ at }) => lastWord.test(tokens[at - 1]?.folded ?? ''))
  if (calls.length === 0 && !isLast && !isOfAsker(sentence, offered)) return undefined
  // 'Message to Q1ABC: cancel the hut' is one.
  const isBegun = off.at <= opens(sentence, offered)
  const isEnded = off.at + off.length === tokens.length
  const hasColon = calls.some((at) => /^\s*:/.test(text.slice(tokens[at]!.end)))
  if (!isBegun && (!isEnded || hasColon)) return undefined
  const isOtherAt = (token: Token, at: number): boolean =>
    ![off, ...messages].some((run) => at >= run.at && at < run.at + run.length) &&
    !calls.includes(at) &&
    !isSmall(token, offered) &&
    !toWords.has(token.folded) &&
    !lastWord.test(token.folded) &&
    !offered.vocabulary.roles.get('mine')!.has(token.folded)
  // 'Scrap the msg I sent Q1XYZ, he phoned': what it begins with counts; behind it may stand why.
  const end = Math.max(messages[0]!.at, calls[0] ?? 0, off.at + off.length)
  const told = isBegun && has('left', sentence, offered) ? messages[0]!.at : end
  const isOther = tokens.some((token, at) => (!isBegun || at <= told) && isOtherAt(token, at))
  const mail = offered.services.find(({ keyword }) => keyword === 'mail')
  if (isOther || mail === undefined) return undefined
  return { kind: 'service', service: mail, words: [], rest: '', manner: 'guessed' }
}

const lastWord = /^(last|letzten?|dernier|ultimo)$/

/** 'My message', 'el mensaje que dejé'. */
const isOfAsker = (sentence: Sentence, offered: Offered): boolean =>
  has('mine', sentence, offered) || has('left', sentence, offered)

/** 'Say again', 'nochmal bitte': the last answer is not kept, and no other is given for it. */
export function saidAgain(sentence: Sentence, offered: Offered): Understanding | undefined {
  const { tokens } = sentence
  const runs = runsOf('again', sentence, offered)
  const isWhole = tokens.every(
    (token, at) =>
      runs.some((run) => at >= run.at && at < run.at + run.length) || isSmall(token, offered),
  )
  const isOther = sentence.all.some(({ strong }) => strong) || beginsCancelled(tokens, offered)
  if (runs.length === 0 || !isWhole || isOther) return undefined
  const { at, length } = runs[0]!
  const word = tokens.slice(at, at + length).map(({ raw }) => raw)
  return { kind: 'nothing', word: word.join(' ') }
}

const beginsCancelled = (tokens: Sentence['tokens'], { vocabulary }: Offered): boolean =>
  phraseAt(tokens, 0, vocabulary.phraseMax, (phrase) => vocabulary.cancel.has(phrase)) > 0
