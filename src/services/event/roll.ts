import { findStation } from '../callWords.js'
import type { Answer, Service, ServiceContext } from '../service.js'
import { wordingOf } from '../wordingOf.js'
import type { NamesView } from './namesView.js'
import { notOn } from './notOn.js'

export interface RollOptions {
  readonly names: NamesView
  readonly isOn: () => boolean
  /** heard within this is present */
  readonly presentMs: number
}

const minuteMs = 60_000
const minutesMax = 1440

/** `roll [MINUTES or LIST]`: how many of the names were heard lately, and who is missing since when. */
export function rollService({ names, isOn, presentMs }: RollOptions): Service {
  return {
    keyword: 'roll',
    summary: 'Roll call: which tactical names were heard, who is missing',
    usage: 'roll [MINUTES or LIST]',
    messagesMax: () => 5,
    ready: () => (isOn() ? { state: 'ready' } : notOn),
    answer({ words }, context) {
      const { say } = wordingOf(context)
      if (!isOn()) return say('eventNotNow')
      const listed = words.flatMap((word) => names.listed(word) ?? [])
      const called = names.all().filter(({ name }) => listed.length === 0 || listed.includes(name))
      if (called.length === 0) return say('eventNoNames')
      const asked = Number(words.find((word) => /^\d{1,4}$/.test(word)) ?? presentMs / minuteMs)
      const minutes = Math.min(Math.max(1, Math.round(asked)), minutesMax)
      return rollText(called, minutes, context, names.markIn(wordingOf(context)))
    },
  }
}

function rollText(
  called: ReturnType<NamesView['all']>,
  minutes: number,
  context: ServiceContext,
  mark: string,
): Answer {
  const { say } = wordingOf(context)
  const nowMs = context.clock.wallMs()
  const missing = called
    .map(({ name, call }) => {
      const station = call === undefined ? undefined : findStation(context.stations, call)
      return { name, ageMs: station && Math.max(0, nowMs - station.lastHeardWallMs) }
    })
    .filter(({ ageMs }) => ageMs === undefined || ageMs > minutes * minuteMs)
    .sort((a, b) => (b.ageMs ?? Infinity) - (a.ageMs ?? Infinity))
  const present = say('eventPresent', {
    count: called.length - missing.length,
    total: called.length,
    minutes,
  })
  if (missing.length === 0) return `${mark}${present}`
  const words = missing.map(({ name, ageMs }) =>
    ageMs === undefined
      ? `${name}(${say('eventNever')})`
      : `${name}(${Math.round(ageMs / minuteMs)}min)`,
  )
  return `${mark}${present} ${say('eventMissing', { names: words.join(', ') })}`
}
