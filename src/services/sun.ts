import { type Reference, referenceOf } from './geo/reference.js'
import type { Service, ServiceContext } from './service.js'
import { moonState } from './sky/moonState.js'
import { type SunDay, sunDay } from './sky/sunTimes.js'
import { clockWords, dayWords, zoneWords } from './timeWords.js'

export interface SunOptions {
  readonly positionAgeMaxMs: number
}

const dayMs = 86_400_000

/** `sun`: civil dawn, rise, set and dusk of today (tomorrow once it is dark), and the moon. */
export function sunService(options: SunOptions): Service {
  return {
    keyword: 'sun',
    summary: 'Dawn, sunrise, sunset, dusk, and the moon',
    usage: 'sun',
    answer(_question, context) {
      const nowMs = context.clock.wallMs()
      const moon = moonWords(nowMs, context.node.utcOffsetMinutes)
      const reference = referenceOf(context, options.positionAgeMaxMs)
      if (reference === undefined)
        return ['Where are you? Send a position beacon, then ask for the sun again.', moon]
      return [sunWords(reference, nowMs, context), moon]
    },
  }
}

function sunWords(reference: Reference, nowMs: number, context: ServiceContext): string {
  const { utcOffsetMinutes } = context.node
  const offsetMs = utcOffsetMinutes * 60_000
  const midnightMs = Math.floor((nowMs + offsetMs) / dayMs) * dayMs - offsetMs
  const today = sunDay(reference.position, midnightMs)
  const over = (today.duskWallMs ?? today.noonWallMs + dayMs / 2) < nowMs
  const day = over ? sunDay(reference.position, midnightMs + dayMs) : today
  const place = reference.of === 'asker' ? 'you' : 'node'
  return `${over ? 'Tomorrow' : 'Today'} at ${place}: ${timesOf(day, utcOffsetMinutes)}`
}

function timesOf(day: SunDay, utcOffsetMinutes: number): string {
  const parts: string[] = []
  const add = (name: string, wallMs: number | undefined): void => {
    if (wallMs !== undefined) parts.push(`${name} ${clockWords(wallMs, utcOffsetMinutes)}`)
  }
  const stays = day.noonAltitudeDeg > 0 ? 'sun up all day' : 'sun does not rise'
  add('dawn', day.dawnWallMs)
  add('rise', day.riseWallMs)
  if (day.riseWallMs === undefined && day.setWallMs === undefined) parts.push(stays)
  add('set', day.setWallMs)
  add('dusk', day.duskWallMs)
  if (parts.length === 1 && parts[0] === stays) return stays
  return `${parts.join(' ')} ${zoneWords(utcOffsetMinutes)}`
}

function moonWords(nowMs: number, utcOffsetMinutes: number): string {
  const { litShare, waxing, next } = moonState(nowMs)
  const trend = waxing ? 'waxing' : 'waning'
  const day = dayWords(next.wallMs, utcOffsetMinutes)
  return `Moon ${Math.round(litShare * 100)}% lit, ${trend}, ${next.quarter} on ${day}`
}
