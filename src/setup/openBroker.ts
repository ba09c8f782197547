import { randomUUID } from 'node:crypto'
import type { Config } from '../config/schema.js'
import { mqttBroker } from '../links/mqtt.js'
import type { TelemetryChannel } from '../node/beaconOptions.js'
import type { BrokerMessage, BrokerState } from '../node/broker/broker.js'
import { brokerCarrier } from '../node/broker/brokerCarrier.js'
import { type SiteRadio, statePayload } from '../node/broker/siteState.js'
import { onlinePayload, topicsOf } from '../node/broker/topics.js'
import type { HillCarrier } from '../node/hills/hillCarrier.js'
import { characters } from '../node/hills/ids.js'
import type { Ending } from '../node/tally.js'
import type { RadioPort } from '../radio/radioPort.js'
import type { RadioReading } from '../radio/radioWatch.js'
import { type Cancel, type Clock, every } from '../runtime/clock.js'
import type { ClockTrust } from '../runtime/clockTrust.js'
import { createGuard, guardedClock } from '../runtime/guard.js'
import { brokerUse, mqttOptions } from './brokerOptions.js'

export interface OpenBroker {
  /** the way to other nodes; undefined where none is reached by it */
  readonly carrier: HillCarrier | undefined
  /** Connects; from then on the station is told of. */
  start(telemetry: readonly TelemetryChannel[]): void
  close(): void
  readonly state: OpenBrokerState
}

export interface OpenBrokerState extends BrokerState {
  /** sessions with other nodes that go on */
  readonly openCount: number
  /** what came and was left out, most frequent first */
  readonly ignored: readonly Ending[]
}

export interface OpenBrokerParts {
  readonly config: Config
  /** of the configuration file */
  readonly folder: string
  readonly clock: Clock
  readonly clockTrust: ClockTrust
  readonly ports: readonly RadioPort[]
  readonly onFault: (text: string) => void
  readonly onNote: (text: string) => void
}

/** The others look whether somebody is there for so long after he said so. */
const onlineLastsMs = 7 * 86_400_000
/** A radio tells its level once a second to who looks. */
const readingWaitMs = 3_000

/** The broker, out of a configuration that has it enabled. */
export function openBroker(parts: OpenBrokerParts): OpenBroker {
  const { config, folder, clockTrust, ports, onFault, onNote } = parts
  const guard = createGuard(({ what, reason }) => onFault(`broker: ${what}: ${reason}`))
  const clock = guardedClock(parts.clock, guard)
  const use = brokerUse(config)
  const options = mqttOptions(config, folder)
  const topics = topicsOf(use.prefix, use.own)
  const online = (isOnline: boolean): BrokerMessage => ({
    ...{ topic: topics.online, retain: true, expiryMs: onlineLastsMs },
    payload: onlinePayload(use.own, isOnline, use.takes),
  })
  const will = online(false)
  const subscribed: string[] = []
  const broker = mqttBroker({ clock, options, will, topics: subscribed })
  const carrier =
    use.neighbours.length === 0
      ? undefined
      : brokerCarrier({
          ...{ ...use, clock, broker, timeLimitMs: options.timeLimitMs },
          newSession: () => characters(16, randomUUID()),
        })
  subscribed.push(...(carrier?.topics ?? []))
  let cancels: Cancel[] = []

  return {
    carrier,
    start(telemetry) {
      const tell = (): void => {
        if (use.tells.length === 0 || !broker.state.isUp) return
        const finish = (radios: readonly SiteRadio[]): void => {
          const wallMs = clockTrust.trusted() ? clock.wallMs() : undefined
          const figures = { ...(use.tells.includes('radios') && { radios }) }
          const readings = telemetry.map((one) => ({ ...one, value: one.read() }))
          const telemetryFigures = use.tells.includes('telemetry') && { telemetry: readings }
          broker.publish({
            ...{ topic: topics.state, retain: true, expiryMs: 3 * use.tellMs },
            payload: statePayload({ call: use.own, wallMs, ...figures, ...telemetryFigures }),
          })
        }
        if (use.tells.includes('radios')) readRadios(ports, clock, finish)
        else finish([])
      }
      let wasDown = ''
      broker.start({
        up: guard.listener('the broker is there', () => {
          wasDown = ''
          onNote(`broker: connected with ${options.host}`)
          broker.publish(online(true))
          carrier?.up()
          tell()
        }),
        down: guard.listener('the broker is gone', (reason: string) => {
          carrier?.down()
          // Each reason once: a link may be away for weeks.
          if (reason !== wasDown) onFault(`broker: ${reason}`)
          wasDown = reason
        }),
        message: guard.listener('what a broker sent', (topic: string, payload: Uint8Array) =>
          carrier?.message(topic, payload),
        ),
      })
      cancels = [every(clock, use.tellMs, tell)]
    },
    close() {
      for (const cancel of cancels) cancel()
      broker.stop(will)
    },
    get state() {
      return {
        ...broker.state,
        openCount: carrier?.openCount ?? 0,
        ignored: carrier?.ignored.endings ?? [],
      }
    },
  }
}

/** Looks at all radios until each has told its level, or time is up: who is not looked at tells nothing. */
function readRadios(
  ports: readonly RadioPort[],
  clock: Clock,
  finish: (radios: readonly SiteRadio[]) => void,
): void {
  const levels = new Map<RadioPort, RadioReading>()
  const cancels: Cancel[] = []
  let isOver = false
  const end = (): void => {
    if (isOver) return
    isOver = true
    for (const cancel of cancels) cancel()
    finish(ports.map((port) => siteRadio(port, levels.get(port))))
  }
  cancels.push(clock.at(clock.monotonicMs() + readingWaitMs, end))
  for (const port of ports)
    cancels.push(
      port.watch({ spectrum: false, audio: false }, (report) => {
        if (report.kind !== 'reading') return
        levels.set(port, report)
        if (levels.size === ports.length) end()
      }),
    )
  // Told while it was asked for: nobody looks on.
  if (isOver) for (const cancel of cancels) cancel()
}

function siteRadio(port: RadioPort, level: RadioReading | undefined): SiteRadio {
  const { receiving, keyed, dutyUsed, holds = [] } = port.state()
  const heldBy = [...new Set(holds.map(({ source }) => source))]
  return { number: port.radio, name: port.name, receiving, keyed, level, dutyUsed, heldBy }
}
