import { readArguments } from './asking/readArguments.js'
import { findStation, parseCall } from './callWords.js'
import { geodesicBetween } from './geo/geodesic.js'
import { referenceOf, wayFromWords } from './geo/reference.js'
import { ageWords, agoWords } from './geo/words.js'
import type { HeardStation, Service, ServiceContext } from './service.js'

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
      const { count, isAll, unknown, call: asked } = readArguments(question.words, context)
      // In a sentence a word may be anything; behind the keyword it is meant to be somebody's call.
      const isPlain = /^\W*heard\W/i.test(question.text) || /\d/.test(unknown[0] ?? '')
      const only = question.words.length === 1 && isPlain ? unknown[0] : undefined
      const call = asked ?? (only === undefined ? undefined : parseCall(only))
      if (call === undefined && only !== undefined)
        return `"${only.slice(0, 12)}" is not a call sign. Send e.g. heard N0CALL-7`
      if (call === undefined)
        return listWords(question.from, nowMs, context, isAll ? listedMax : count)
      if (call === context.node.call) return `${call} is this node, and hears you.`
      const station = findStation(context.stations, call)
      return station === undefined
        ? `${call} was not heard here.`
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
  if (others.length === 0) return 'Nobody but you was heard here yet.'
  const words = others.map(({ call, lastHeardWallMs }, at) => {
    const ageMs = nowMs - lastHeardWallMs
    return `${call} ${at === 0 ? agoWords(ageMs) : ageWords(ageMs)}`
  })
  return `Heard: ${words.join(', ')}`
}

function stationWords(
  station: HeardStation,
  nowMs: number,
  context: ServiceContext,
  options: HeardOptions,
): string {
  const { call, lastHeardWallMs, via, quality, position, frameCount } = station
  const direct = via.length === 0 || via[0] === 'direct'
  const path = direct ? 'direct' : `via ${via.join(',')}`
  const parts = [`${call} ${agoWords(nowMs - lastHeardWallMs)} ${path}`]
  if (direct && quality !== undefined) parts.push(`Eb/N0 ${Math.round(quality.ebN0Db)}dB`)
  parts.push(frameCount === 1 ? '1 frame' : `${frameCount} frames`)
  const reference = referenceOf(context, options.positionAgeMaxMs)
  if (position !== undefined && reference !== undefined) {
    const way = geodesicBetween(reference.position, position)
    parts.push(wayFromWords(way, reference, context.node.units))
  }
  return parts.join(', ')
}
