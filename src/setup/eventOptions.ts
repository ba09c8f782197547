import { resolve } from 'node:path'
import { inBaseUnits } from '../config/baseUnits.js'
import type { Config } from '../config/schema.js'
import { offsetAtIn } from '../runtime/localTime.js'
import { exerciseMark } from '../services/event/exerciseMark.js'
import { standardWordings } from '../words/air/all.js'

export interface EventOptions {
  readonly name: string
  readonly fromWallMs: number
  readonly toWallMs: number
  readonly isExercise: boolean
  /** absolute; '' for none */
  readonly namesFile: string
  readonly presentMs: number
  /** '' for the node's own */
  readonly status: string
  readonly announcements: readonly string[]
}

/**
 * The event out of the configuration; undefined where none is named.
 * @param folder of the configuration file
 * @param wording of the station's language, which may be the club's own
 */
export function eventOptions(
  config: Config,
  folder: string,
  wording = standardWordings.of(config.station.language),
): EventOptions | undefined {
  const { name, exercise, names, presentMs, status, announcements } = inBaseUnits(config.event)
  const period = eventPeriod(config)
  if (period === undefined) return undefined
  const mark = exerciseMark(exercise, wording)
  return {
    ...{ name, ...period, isExercise: exercise, presentMs },
    namesFile: names === '' ? '' : resolve(folder, names),
    status: status === '' ? '' : `${mark}${status}`,
    announcements: announcements.map((text) => `${mark}${text}`),
  }
}

export interface EventPeriod {
  readonly fromWallMs: number
  readonly toWallMs: number
}

export function eventPeriod({ event, station }: Config): EventPeriod | undefined {
  if (event.name === '') return undefined
  const offsetAt = offsetAtIn(station)
  const wallMsOf = (local: string): number => {
    const shownMs = Date.parse(`${local.replace(' ', 'T')}:00Z`)
    const roughMs = shownMs - offsetAt(shownMs) * 60_000
    // Beside a change of the clocks the offset is another one than that of the first guess.
    return shownMs - offsetAt(roughMs) * 60_000
  }
  return { fromWallMs: wallMsOf(event.from), toWallMs: wallMsOf(event.to) }
}

export const isWithin = ({ fromWallMs, toWallMs }: EventPeriod, wallMs: number): boolean =>
  wallMs >= fromWallMs && wallMs < toWallMs
