import type { Found } from '../findMeanings.js'
import { isCallWord } from '../kinds.js'
import type { Token } from '../tokens.js'
import type { Offered, Understanding } from '../understanding.js'
import {
  askFor,
  callsIn,
  has,
  isByKeyword,
  isSmall,
  offer,
  runsOf,
  type Sentence,
} from './sentence.js'

const isUrgent = ({ words }: Found): boolean => words[0] === 'emergency'

/** What a text names, without the emergencies that it says there are none of: 'not urgent', 'nobody is hurt'. */
export function withoutDenied(
  all: readonly Found[],
  tokens: readonly Token[],
  offered: Offered,
): readonly Found[] {
  if (!all.some(isUrgent)) return all
  const isNumberOf = ({ begin, length }: Found): boolean =>
    begin > 0 && length === 1 && isRunnersNumber(tokens[begin]!, tokens[begin - 1]!, offered)
  // 'Q1ABC antwortet nicht' is of a station that is not heard.
  const isSilenceOf = ({ begin, length }: Found): boolean =>
    tokens.slice(Math.max(0, begin - 2), begin).some(({ raw }) => isCallWord(raw)) &&
    has('not', { tokens: tokens.slice(begin, begin + length) }, offered)
  const denied = runsOf('noEmergency', { tokens }, offered)
  return all.filter(
    (one) =>
      !isUrgent(one) ||
      !(
        isNumberOf(one) ||
        isSilenceOf(one) ||
        denied.some(({ at, length }) => one.begin >= at && one.begin < at + length)
      ),
  )
}

/** 'Läufer 112 durch', 'bib 911': the number of somebody or something, and no call for the rescue; 'call 112' is one. */
const isRunnersNumber = (token: Token, before: Token, offered: Offered): boolean =>
  /^\d+$/.test(token.folded) &&
  !isSmall(before, offered) &&
  !['tell', 'cry', 'tellMe'].some(
    (role) => offered.vocabulary.roles.get(role as 'tell')?.has(before.folded) === true,
  ) &&
  !offered.vocabulary.sending.has(before.folded) &&
  offered.vocabulary.meanings.get(before.folded) === undefined

/** 'This is not an emergency' gets no number of the rescue; where else it is asked for is told. */
export function emergencyDenied(sentence: Sentence, offered: Offered): Understanding | undefined {
  const { tokens, all } = sentence
  const [denied] = runsOf('noEmergency', sentence, offered)
  if (denied === undefined || isByKeyword(sentence) || callsIn(sentence, offered).length > 0)
    return undefined
  // Whoever says more asks for that.
  if (all.some(({ strong }) => strong)) return undefined
  const words = tokens.slice(denied.at, denied.at + denied.length).map(({ raw }) => raw)
  return offer(words.at(-1)!, ['find'], offered)
}

/**
 * 'Aiuto mi sono perso sopra Oberwald, nebbia': whatever place or weather follows, who is lost is told where the node heard them last, and
 * who cries for help, too, gets the numbers of the rescue.
 */
export function lostInNeed(sentence: Sentence, offered: Offered): Understanding | undefined {
  const { tokens } = sentence
  const [lost] = runsOf('lost', sentence, offered)
  if (lost === undefined || (isByKeyword(sentence) && !has('cry', sentence, offered)))
    return undefined
  if (callsIn(sentence, offered).length > 0) return undefined
  const cries = runsOf('cry', sentence, offered)
  const isMore = tokens.some(
    (token, at) =>
      ![lost, ...cries].some((run) => at >= run.at && at < run.at + run.length) &&
      !isSmall(token, offered),
  )
  if (!isMore) return cries.length > 0 ? undefined : askFor('where', 'me', offered)
  return cries.length > 0 ? askFor('find', 'emergency', offered) : askFor('where', 'me', offered)
}
