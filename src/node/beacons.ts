import { formatWeather } from '../aprs/formatWeather.js'
import type { Port } from '../radio/port.js'
import type { Cancel, Clock } from '../runtime/clock.js'
import type { ClockTrust } from '../runtime/clockTrust.js'
import { errorText } from '../runtime/errorText.js'
import type { Random } from '../runtime/random.js'
import { readyAmong } from '../services/readiness.js'
import type { GeoPosition, NoticesView, Service } from '../services/service.js'
import type { Store } from '../store/store.js'
import type { BeaconKind, BeaconOptions, BeaconSchedule } from './beaconOptions.js'
import {
  announcementBulletins,
  capabilitiesPayload,
  noticeBulletins,
  positionPayload,
  serviceBulletins,
  statusPayload,
  telemetryDefinitions,
  telemetryPayload,
} from './beaconPayloads.js'
import type { Journal } from './journal.js'
import type { WordingFor } from './nodeWording.js'
import { ownObjects } from './ownObjects.js'
import { onSchedule } from './schedule.js'
import type { ConfiguredEvent } from './serviceNode.js'
import type { Transmitter } from './transmitter.js'

/** What the node sends unasked. */
export interface Beacons {
  /** By the schedule as it is now; again after it has changed. */
  start(): void
  stop(): void
  /** Sends one kind now, on the paths and radios of its schedule where it has one. */
  send(kind: BeaconKind): void
}

export interface BeaconParts {
  readonly clock: Clock
  readonly clockTrust: ClockTrust
  readonly random: Random
  readonly store: Store
  readonly note: Journal
  readonly ports: readonly Port[]
  readonly transmitter: Transmitter
  readonly services: readonly Service[]
  readonly notices: NoticesView
  readonly options: BeaconOptions
  readonly call: string
  readonly wording: WordingFor
  readonly status: () => string
  /** absent where none is configured */
  readonly event?: Pick<ConfiguredEvent, 'announcements'> | undefined
  /** nothing is told in quiet hours, but what the operator wants told */
  readonly isQuiet: () => boolean
  readonly position: () => GeoPosition | undefined
  readonly framesHeard: () => number
}

export function beacons(parts: BeaconParts): Beacons {
  const { clock, store, options, call } = parts
  let cancels: Cancel[] = []
  let framesHeardBefore = 0
  let stopped = false

  const positions = (): Uint8Array[] => {
    const position = parts.position()
    if (position === undefined) return []
    const { symbol, comment, reach } = options
    return [positionPayload({ position, symbol, comment, reach })]
  }

  const telemetry = (): Uint8Array[] => {
    const counted = store.durably('the count of telemetry reports', () => store.count('telemetry'))
    const heard = parts.framesHeard()
    const framesHeard = heard - framesHeardBefore
    framesHeardBefore = heard
    const dutyUsed = Math.max(0, ...parts.ports.map((port) => port.state().dutyUsed))
    const sequence = counted.ok ? counted.value : 0
    return [telemetryPayload(sequence, options.telemetry, { dutyUsed, framesHeard })]
  }

  const capabilities = (): Uint8Array => {
    const sent = store.reading('messages sent', 0, () => store.messages.countAcknowledged())
    return capabilitiesPayload(sent, store.stations.count)
  }

  const payloads: Readonly<
    Record<BeaconKind, () => readonly Uint8Array[] | Promise<readonly Uint8Array[]>>
  > = {
    position: positions,
    status: () => (parts.status() === '' ? [] : [statusPayload(parts.status())]),
    capabilities: () => [capabilities()],
    services: () => serviceBulletins(call, offeredToAll(parts), parts.wording()),
    notices: () => noticeBulletins(parts.notices.recent(5)),
    announcements: () => announcementBulletins(parts.event?.announcements() ?? []),
    objects: () => ownObjects(parts),
    telemetry,
    'telemetry-definitions': () => telemetryDefinitions(call, options.telemetry),
    weather: () => weatherPayloads(parts),
  }

  const sendScheduled = (schedule: BeaconSchedule): void => {
    // such as a symbol or an object's name that the format refuses
    const noteFault = (error: unknown): void => {
      parts.note('fault', `beacon: ${schedule.kind}`, { reason: errorText(error) })
    }
    try {
      const made = payloads[schedule.kind]()
      if (!(made instanceof Promise)) sendMade(parts, schedule, made)
      else made.then((payload) => stopped || sendMade(parts, schedule, payload)).catch(noteFault)
    } catch (error) {
      noteFault(error)
    }
  }

  return {
    start() {
      stopped = false
      for (const cancel of cancels) cancel()
      cancels = options.schedules.map((schedule) =>
        onSchedule(clock, parts.random, schedule, () => parts.isQuiet() || sendScheduled(schedule)),
      )
    },
    stop() {
      stopped = true
      for (const cancel of cancels) cancel()
      cancels = []
    },
    send(kind) {
      const schedules = options.schedules.filter((schedule) => schedule.kind === kind)
      for (const schedule of schedules.length > 0 ? schedules : [{ kind }]) sendScheduled(schedule)
    },
  }
}

/** What everybody may ask and what can be answered: not the control operator's commands. */
const offeredToAll = (parts: BeaconParts): readonly Service[] =>
  readyAmong(parts.services, { clock: parts.clock, stations: parts.store.stations }).filter(
    ({ isFor }) => isFor === undefined,
  )

/** Nothing while the instrument says nothing: old weather is not sent as new. */
async function weatherPayloads({
  options,
  clockTrust,
  ...parts
}: BeaconParts): Promise<Uint8Array[]> {
  const reading = await options.weather?.()
  if (reading === undefined) return []
  const position = parts.position()
  const timed = clockTrust.trusted() ? { atWallMs: reading.atWallMs } : {}
  if (position === undefined && timed.atWallMs === undefined) return []
  return [formatWeather({ ...timed, weather: reading.figures, ...(position && { position }) })]
}

function sendMade(
  { clock, ports, transmitter, options }: BeaconParts,
  schedule: BeaconSchedule,
  made: readonly Uint8Array[],
): void {
  for (const radio of schedule.radios ?? ports.map((port) => port.radio)) {
    for (const payload of made) {
      transmitter.send({
        payload,
        path: schedule.path ?? [],
        radio,
        priority: 'beacon',
        notAfterMs: clock.monotonicMs() + options.notAfterMs,
        text: `beacon: ${schedule.kind}`,
      })
    }
  }
}
