import { type OffsetAt, offsetAtIn } from '../runtime/localTime.js'
import type { NodeOptions } from './options.js'

/** A copy that a running node may change: who was given a table of it sees the change. */
export const ownOptions = (given: NodeOptions): NodeOptions => ({
  ...given,
  answers: { ...given.answers },
  copies: { ...given.copies },
  limits: { ...given.limits },
  mailbox: { ...given.mailbox },
  notices: { ...given.notices },
  emergency: { ...given.emergency },
  beacons: { ...given.beacons },
})

/**
 * Takes over what can change while the node runs. What the parts have built upon stays: the call, the window by which
 * questions are counted, the instruments of telemetry and weather.
 * @returns whether beacons go by another schedule now
 */
export function takeOptions(own: NodeOptions, next: NodeOptions): boolean {
  const { schedules, telemetry, weather } = own.beacons
  const isRescheduled = JSON.stringify(schedules) !== JSON.stringify(next.beacons.schedules)
  const { heightM, units, timeZone, utcOffsetMinutes } = next
  const { answering, aliases, groups, ignored, status, quiet } = next
  Object.assign(own, { heightM, units, timeZone, utcOffsetMinutes })
  Object.assign(own, { answering, aliases, groups, ignored, status, quiet })
  for (const table of ['answers', 'copies', 'mailbox', 'notices', 'emergency'] as const)
    Object.assign(own[table], next[table])
  Object.assign(own.limits, { perStation: next.limits.perStation })
  Object.assign(own.beacons, next.beacons, { telemetry, weather })
  return isRescheduled
}

/** Local time of the options as they are now; made anew only where that has changed. */
export function offsetOf(options: NodeOptions): () => OffsetAt {
  let known: { readonly name: string; readonly offsetAt: OffsetAt } | undefined
  return () => {
    const name = `${options.timeZone} ${options.utcOffsetMinutes}`
    if (known?.name !== name) known = { name, offsetAt: offsetAtIn(options) }
    return known.offsetAt
  }
}
