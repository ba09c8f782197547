import { phraseAt } from '../findMeanings.js'
import type { Token } from '../tokens.js'
import type { Offered, Understanding } from '../understanding.js'
import { callsIn, has, isByKeyword, offer, opens, runsOf, type Sentence } from './sentence.js'

/** 'Turn on the light', 'schalt das Relais ein': nobody switches anything by asking, and no list is an answer to it. */
export function switchingWanted(sentence: Sentence, offered: Offered): Understanding | undefined {
  const { tokens } = sentence
  if (isByKeyword(sentence) || callsIn(sentence, offered).length > 0) return undefined
  const [run] = runsOf('switching', sentence, offered)
  if (isApart(tokens)) return { kind: 'nothing', word: `${tokens[0]!.raw} ${tokens.at(-1)!.raw}` }
  if (run === undefined || tokens.length === 1) return undefined
  const before = tokens.slice(opens(sentence, offered), run.at)
  // 'How do I turn on ...' asks; 'can you turn on ...', 'das Relais einschalten' do not.
  const isBegun = before.every(({ folded }) => offered.vocabulary.ignored.has(folded))
  const isEnded = run.at + run.length === tokens.length && run.at > 0
  if (!isBegun && !isEnded) return undefined
  const words = tokens.slice(run.at, run.at + run.length).map(({ raw }) => raw)
  return { kind: 'nothing', word: words.join(' ') }
}

/** 'Switch the repeater off', 'schalt das Relais ein' */
const isApart = (tokens: Sentence['tokens']): boolean =>
  tokens.length > 2 &&
  /^(switch|turn|schalte?)$/.test(tokens[0]!.folded) &&
  /^(on|off|an|aus|ein)$/.test(tokens.at(-1)!.folded)

/** 'Marshal 7 checking in at start line', 'presente puesto 4': where there is no roll that is said, where there is one, how it is asked. */
export function presenceReported(sentence: Sentence, offered: Offered): Understanding | undefined {
  const { tokens, text } = sentence
  if (isByKeyword(sentence) || callsIn(sentence, offered).length > 0) return undefined
  const hasRoll = offered.services.some(({ keyword }) => keyword === 'roll')
  const { meanings, phraseMax } = offered.vocabulary
  const isRoll = (phrase: string): boolean =>
    phrase.includes(' ') && meanings.get(phrase)?.keyword === 'roll'
  // 'Qui a répondu présent' asks for a list of the event, and for none of those heard.
  if (!hasRoll && phraseAt(tokens, opens(sentence, offered), phraseMax, isRoll) > 0)
    return { kind: 'absent', keyword: 'roll' }
  if (text.includes('?')) return undefined
  const [run] = runsOf('presence', sentence, offered)
  const hasNumber = tokens.some(({ folded }) => /^\d{1,3}$/.test(folded))
  if (run === undefined || !hasNumber || tokens.length > presenceWordsMax) return undefined
  return offer(tokens[run.at]!.raw, ['roll'], offered)
}

/** A longer one is about something else. */
const presenceWordsMax = 9

/** 'What time does the race start': the time of something that is not ours is no time of day. */
export function timeOfOther(sentence: Sentence, offered: Offered): Understanding | undefined {
  const { tokens, first, all } = sentence
  const { services, vocabulary } = offered
  if (first?.service.keyword !== 'clock' && !all.some(isClock)) return undefined
  if (isByKeyword(sentence) || callsIn(sentence, offered).length > 0) return undefined
  if (all.some((one) => one.strong && !isClock(one))) return undefined
  const strange = tokens.filter((token) => isStrange(token, offered))
  const isKnown = strange.some(({ raw }) =>
    services.some(({ recognises }) => recognises?.([raw]) === true),
  )
  const [word] = strange
  if (word === undefined || isKnown || has('when', { tokens: [word] }, offered)) return undefined
  const isNumbered = tokens.some(
    ({ folded }, at) => at > 0 && /^\d{1,2}$/.test(folded) && tokens[at - 1] === word,
  )
  const isDay = tokens.some(({ folded }) => vocabulary.arguments.get(folded) === 'tomorrow')
  const wanted = isNumbered || isDay ? ['pass', 'board', 'find'] : ['board', 'find']
  return offer(word.raw, wanted, offered)
}

const isClock = ({ service }: Sentence['all'][number]): boolean => service.keyword === 'clock'

const isStrange = ({ folded }: Token, { vocabulary }: Offered): boolean =>
  /^[a-z]{4,}$/.test(folded) &&
  !/^(time)?zones?$/.test(folded) &&
  !vocabulary.parts.has(folded) &&
  !vocabulary.keywords.has(folded)

/** 'Book the hut for 2', 'Hütte stornieren': nothing can be booked here; that is said, and which card may tell more. */
export function bookingWanted(sentence: Sentence, offered: Offered): Understanding | undefined {
  const { tokens } = sentence
  const { services, vocabulary } = offered
  if (isByKeyword(sentence) || callsIn(sentence, offered).length > 0) return undefined
  const [booking] = runsOf('booking', sentence, offered)
  const find = services.find(({ keyword }) => keyword === 'find')
  if (booking === undefined || find === undefined) return undefined
  const topic = tokens.find(
    ({ raw, folded }) => vocabulary.topics.has(folded) && find.recognises?.([raw]) === true,
  )
  const told = offer(tokens[booking.at]!.raw, ['find'], offered, topic?.raw)
  return told?.kind === 'offer' ? { ...told, refused: 'booking' } : told
}
