import { locatorOf } from '../aprs/locator.js'
import { composed } from './compose.js'
import { agoWords } from './geo/words.js'
import type { Service } from './service.js'
import { dateWords, zoneWords } from './timeWords.js'
import { wordingOf } from './wordingOf.js'

/** `clock`: the time to the second, where it comes from, and the locators of node and asker. */
export const clockService: Service = {
  keyword: 'clock',
  summary: 'Time, where it comes from, and locators of node and you',
  usage: 'clock',
  answer(_question, context) {
    const nowMs = context.clock.wallMs()
    const { utcOffsetMinutes, timeSource, position, positionSource } = context.node
    const wording = wordingOf(context)
    const { say } = wording
    const sourceText = sourceTexts[timeSource]
    const time = {
      date: dateWords(nowMs, utcOffsetMinutes, wording),
      time: secondsWords(nowMs, utcOffsetMinutes),
      zone: zoneWords(utcOffsetMinutes),
      source: sourceText === undefined ? timeSource : say(sourceText),
    }
    const lines = [
      utcOffsetMinutes === 0
        ? say('clockTime', time)
        : say('clockTimeUtc', { ...time, utc: secondsWords(nowMs, 0) }),
    ]
    if (position !== undefined) {
      const at = { call: context.node.call, locator: locatorOf(position) }
      const isConfigured = positionSource === 'config'
      lines.push(
        isConfigured ? say('nodeIn', at) : say('nodeInBy', { ...at, source: positionSource }),
      )
    }
    if (context.askerPosition !== undefined) {
      const ago = agoWords(context.askerPosition.ageMs, wording)
      lines.push(say('youWereIn', { locator: locatorOf(context.askerPosition), ago }))
    }
    return composed(lines)
  },
}

/** How far the time can be relied on. */
const sourceTexts: Readonly<Record<string, 'timeNotChecked' | 'timeByGps' | 'timeWrong'>> = {
  system: 'timeNotChecked',
  GPS: 'timeByGps',
  'system, off': 'timeWrong',
}

const secondsWords = (wallMs: number, utcOffsetMinutes: number): string =>
  new Date(wallMs + utcOffsetMinutes * 60_000).toISOString().slice(11, 19)
