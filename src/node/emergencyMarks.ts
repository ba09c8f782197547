import { describePayload } from '../aprs/describe.js'
import { positionOf } from '../aprs/parse.js'
import type { AprsPayload } from '../aprs/types.js'
import type { Clock } from '../runtime/clock.js'
import { wallAgeMs } from '../runtime/clockTrust.js'
import type { GeoPosition } from '../services/service.js'
import type { Store } from '../store/store.js'
import { type EmergencyCall, emergencyIn } from './emergency.js'
import type { Journal } from './journal.js'
import type { NodeOptions } from './options.js'
import { rateLimit } from './rateLimit.js'

/** What the operator is told of a call for help: what was heard, not what is true. */
export interface EmergencyReport extends EmergencyCall {
  readonly station: string
  readonly radio: number
  /** where the station said that it is, and how long ago */
  readonly position: (GeoPosition & { readonly ageMs: number }) | undefined
}

/** What somebody sent: in a frame, or as a line over a connection. */
export interface SaidSomething {
  readonly from: string
  readonly payload: AprsPayload
  readonly thirdParty: boolean
  readonly frame: { readonly radio: number }
}

/** Calls of one station in so long are one thing: marked, told and answered as such. */
export const emergencyWindowMs = 10 * 60_000
/** A station that has EMERGENCY in each of its beacons is told and answered so often in so long. */
export const unasked = { max: 3, windowMs: 6 * 3_600_000 } as const

/** What is marked in the log in that time: of one station, and in all. */
const markedOfStationMax = 6
const markedMax = 60

/**
 * Marks calls for help in the log, on the disk at once, and has the operator told of the first of a station; bounded, as
 * anybody can forge them.
 * @returns takes a frame that is no copy of another; undefined for what is no call for help
 */
export function emergencyMarks(parts: {
  readonly clock: Clock
  readonly store: Store
  readonly note: Journal
  readonly options: NodeOptions
  readonly onEmergency?: ((report: EmergencyReport) => void) | undefined
}): (heard: SaidSomething) => EmergencyCall | undefined {
  const { clock, store, note, options } = parts
  const marked = rateLimit(emergencyWindowMs)
  const told = rateLimit(unasked.windowMs)
  const nowMs = (): number => clock.monotonicMs()

  /** @returns false where too much of it is marked already */
  const mark = (heard: SaidSomething, call: EmergencyCall, isFirst: boolean): boolean => {
    const { from: station, frame } = heard
    const count = marked.count('', nowMs())
    if (count > markedMax || marked.count(station, nowMs()) >= markedOfStationMax) return false
    marked.note('', nowMs())
    if (count === markedMax) {
      const reason = `${markedMax} in ten minutes: no more of them are marked for a while`
      note('emergency', 'calls for help', { reason })
      return false
    }
    marked.note(station, nowMs())
    const remarks = [
      ...(call.exercise ? ['says that it is an exercise'] : []),
      ...(isFirst ? [] : ['called before within ten minutes']),
      ...(heard.thirdParty ? ['passed on by another station'] : []),
    ]
    const text = `${call.sign}: ${describePayload(heard.payload)}`
    const reason = remarks.join(', ') || undefined
    note('emergency', text, { station, radio: frame.radio, reason })
    return true
  }

  const positionFor = ({
    payload,
    from,
    thirdParty,
  }: SaidSomething): EmergencyReport['position'] => {
    const own = positionOf(payload)
    if (own !== undefined)
      return { latitudeDeg: own.latitudeDeg, longitudeDeg: own.longitudeDeg, ageMs: 0 }
    const known = thirdParty ? undefined : store.stations.find(from)?.position
    const ageMs = known && wallAgeMs(known.atWallMs, clock.wallMs())
    if (known === undefined || ageMs === undefined) return undefined
    return { latitudeDeg: known.latitudeDeg, longitudeDeg: known.longitudeDeg, ageMs }
  }

  return (heard) => {
    const call = emergencyIn(heard.payload, options.emergency)
    if (call === undefined) return undefined
    const { from: station, frame } = heard
    const isFirst = marked.count(station, nowMs()) === 0
    if (!mark(heard, call, isFirst) || !isFirst) return call
    // What was heard in the last half minute is otherwise lost with the power.
    store.flush()
    const isMessage = heard.payload.kind === 'message'
    if (isMessage || told.note(station, nowMs()) <= unasked.max)
      parts.onEmergency?.({ ...call, station, radio: frame.radio, position: positionFor(heard) })
    return call
  }
}
