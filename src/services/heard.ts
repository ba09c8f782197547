import { readArguments } from './asking/readArguments.js'
import { findStation, parseCall } from './callWords.js'
import { geodesicBetween } from './geo/geodesic.js'
import { referenceOf, wayFromWords } from './geo/reference.js'
import { ageWords, agoWords } from './geo/words.js'
import type { HeardStation, Service, ServiceContext } from './service.js'
import { counted, wordingOf } from './wordingOf.js'

export interface HeardOptions {
  readonly positionAgeMaxMs: number
}

/** More do not fit the two messages of a list. */
const listedMax = 10

/** `heard`: who was heard lately; `heard CALL`: when and how one station was heard. */
export function heardService(options: HeardOptions): Service {
  return {
    keyword: 'heard',
    summary: 'Stations heard lately, or when one was heard and how',
    usage: 'heard [CALL or N]',
    messagesMax: () => 2,
    answer(question, context) {
      const nowMs = context.clock.wallMs()
      const { say } = wordingOf(context)
      const { count, isAll, unknown, call: asked } = readArguments(question.words, context)
      // In a sentence a word may be anything; behind the keyword it is meant to be somebody's call.
      const isPlain = /^\W*heard\W/i.test(question.text) || /\d/.test(unknown[0] ?? '')
      const only = question.words.length === 1 && isPlain ? unknown[0] : undefined
      const call = asked ?? (only === undefined ? undefined : parseCall(only))
      if (call === undefined && only !== undefined)
        return say('heardNoCall', { word: only.slice(0, 12) })
      if (call === undefined)
        return listWords(question.from, nowMs, context, isAll ? listedMax : count)
      if (call === context.node.call) return say('thisNode', { call })
      const station = findStation(context.stations, call)
      return station === undefined
        ? say('notHeard', { call })
        : stationWords(station, nowMs, context, options)
    },
  }
}

function listWords(
  from: string,
  nowMs: number,
  context: ServiceContext,
  countMax = listedMax,
): string {
  const others = context.stations
    .recent(listedMax + 2)
    .filter((station) => station.call !== from && station.call !== context.node.call)
    .slice(0, Math.max(1, Math.min(countMax, listedMax)))
  const wording = wordingOf(context)
  if (others.length === 0) return wording.say('nobodyHeard')
  const words = others.map(({ call, lastHeardWallMs }, at) => {
    const ageMs = nowMs - lastHeardWallMs
    return `${call} ${(at === 0 ? agoWords : ageWords)(ageMs, wording)}`
  })
  return wording.say('heardList', { list: words.join(', ') })
}

function stationWords(
  station: HeardStation,
  nowMs: number,
  context: ServiceContext,
  options: HeardOptions,
): string {
  const { call, lastHeardWallMs, via, quality, position, frameCount } = station
  const direct = via.length === 0 || via[0] === 'direct'
  const wording = wordingOf(context)
  const { say } = wording
  const path = direct ? say('direct') : say('via', { path: via.join(',') })
  const parts = [`${call} ${agoWords(nowMs - lastHeardWallMs, wording)} ${path}`]
  if (direct && quality !== undefined) parts.push(`Eb/N0 ${Math.round(quality.ebN0Db)}dB`)
  parts.push(counted(frameCount, 'oneFrame', 'manyFrames', wording))
  const reference = referenceOf(context, options.positionAgeMaxMs)
  if (position !== undefined && reference !== undefined) {
    const way = geodesicBetween(reference.position, position)
    parts.push(wayFromWords(way, reference, context.node.units, wording))
  }
  return parts.join(', ')
}
