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

const anyone = /^(anybody|anyone|personne)$/
const nobody = /^(nobody|anybody|anyone|niemand(en|em)?|personne|nadie|nessuno)$/

/** 'Do not tell Q1ABC': nothing is left for anybody, nor is it heard of. 'Tell nobody, I am back' means a watch. */
export function notToBeTold(sentence: Sentence, offered: Offered): Understanding | undefined {
  const { tokens } = sentence
  const [of] = callsIn(sentence, offered)
  const anybody = tokens.findIndex(({ folded }) => nobody.test(folded))
  const isMore = anybody >= 0 && anybody < tokens.length - 1
  const call = of ?? (isMore ? anybody : undefined)
  const begin = opens(sentence, offered)
  // 'Sag Q1ABC nichts'
  const behind = call === undefined ? [] : tokens.slice(call + 1)
  const nothing = runsOf('not', { tokens: behind }, offered)
  const isNothing =
    nothing.length > 0 && nothing.reduce((sum, { length }) => sum + length, 0) === behind.length
  const isDenied = [...runsOf('not', sentence, offered), ...runsOf('unwanted', sentence, offered)]
    // 'Stop' and 'cancel' are of messages that are there.
    .some(({ at }) => at === begin && !offered.vocabulary.cancel.has(tokens[at]!.folded))
  const isNobody = of === undefined && anybody > begin && !anyone.test(tokens[anybody]!.folded)
  if (call === undefined || !(isDenied || isNothing || isNobody)) return undefined
  const isTelling = tokens.slice(begin, call).some(({ folded }) => {
    const { sending, meanings, roles } = offered.vocabulary
    return (
      ['tell', 'leave'].includes(folded) ||
      sending.has(folded) ||
      roles.get('tell')?.has(folded) === true ||
      ['tell', 'leave'].includes(meanings.get(folded)?.keyword ?? '')
    )
  })
  if (!isTelling) return undefined
  return of === undefined
    ? offer(tokens[call]!.raw, ['back'], offered, 'off')
    : offer(tokens[call]!.raw, ['leave', 'mail'], offered)
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
