import { locatorOf } from '../aprs/locator.js'
import { composed } from './compose.js'
import { agoWords } from './geo/words.js'
import type { Service } from './service.js'
import { dateWords, zoneWords } from './timeWords.js'

/** `clock`: the time to the second, where it comes from, and the locators of node and asker. */
export const clockService: Service = {
  keyword: 'clock',
  summary: 'Time, where it comes from, and locators of node and you',
  usage: 'clock',
  answer(_question, context) {
    const nowMs = context.clock.wallMs()
    const { utcOffsetMinutes, timeSource, position, positionSource } = context.node
    const local = `${dateWords(nowMs, utcOffsetMinutes)} ${secondsWords(nowMs, utcOffsetMinutes)}`
    const utc = utcOffsetMinutes === 0 ? '' : ` (${secondsWords(nowMs, 0)} UTC)`
    const lines = [
      `${local} ${zoneWords(utcOffsetMinutes)}${utc}, ${sourceWords[timeSource] ?? timeSource}`,
    ]
    if (position !== undefined)
      lines.push(
        `${context.node.call} is in ${locatorOf(position)}${positionSource === 'config' ? '' : ` by ${positionSource}`}`,
      )
    if (context.askerPosition !== undefined) {
      const { ageMs } = context.askerPosition
      lines.push(`You were in ${locatorOf(context.askerPosition)}, heard ${agoWords(ageMs)}`)
    }
    return composed(lines)
  },
}

/** How far the time can be relied on. */
const sourceWords: Readonly<Record<string, string>> = {
  system: 'not checked',
  GPS: 'by GPS',
  'system, off': 'wrong by GPS',
}

const secondsWords = (wallMs: number, utcOffsetMinutes: number): string =>
  new Date(wallMs + utcOffsetMinutes * 60_000).toISOString().slice(11, 19)
