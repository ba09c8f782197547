import { parseCall } from './callWords.js'
import { keptWords } from './keptWords.js'
import type { Service } from './service.js'
import {
  keepWatch,
  namedBy,
  watchesIn,
  watchesMax,
  watchKey,
  watchRecords,
} from './watchRecords.js'
import { wordingOf } from './wordingOf.js'

const keptMs = 7 * 86_400_000
const ofOneMax = 5

/** `tell CALL`: the asker is told once when it is heard. With a text it is `leave`, as people say it. */
export const tellService: Service = {
  keyword: 'tell',
  summary: 'You are told once when CALL is heard',
  usage: 'tell CALL',
  takes: 'text',
  instead: (rest) => {
    const [first = '', second] = rest.split(/\s+/)
    return second !== undefined && parseCall(first) !== undefined ? 'leave' : undefined
  },
  answer(question, context) {
    const wording = wordingOf(context)
    const { say } = wording
    const { names } = context
    const word =
      question.words.find((one) => namedBy(one, names) !== undefined) ?? question.words[0]
    if (word === undefined) return say('tellWho')
    const named = namedBy(word, names)
    if (named === undefined && question.words.length > 1) return say('tellOnlyStations')
    if (named?.call === undefined) return say('tellNoCall', { word: word.slice(0, 12) })
    const { call, name } = named
    if (call === context.node.call) return say('thisNode', { call })
    const all = watchesIn(context.storage.read(watchRecords))
    const { from, id } = question
    const own = all.filter((one) => one.kind === 'tell' && one.from === from)
    const isKnown = own.some((one) => watchKey(one) === watchKey({ kind: 'tell', from, ...named }))
    if (!isKnown && (own.length >= ofOneMax || all.length >= watchesMax))
      return say('tellFull', { count: own.length })
    const { clock, clockConfirmed = true } = context
    const dueWallMs = clockConfirmed ? clock.wallMs() + keptMs : undefined
    keepWatch(context, {
      ...{ id, kind: 'tell', from, ...named, totalMs: keptMs, remainingMs: keptMs, dueWallMs },
      dueText: keptWords(keptMs, wording),
    })
    return say('tellSet', { call: name ?? call, kept: keptWords(keptMs, wording) })
  },
}
