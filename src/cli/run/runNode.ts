import { dirname, resolve } from 'node:path'
import type { Config } from '../../config/schema.js'
import type { BeaconObject } from '../../node/beaconOptions.js'
import type { MakeConnected } from '../../node/connected/connectedMode.js'
import type { MakeDigipeater } from '../../node/digipeater/digipeater.js'
import { createGps } from '../../node/gps.js'
import { openGpsSerial } from '../../node/gpsSerial.js'
import type { HillCarrier } from '../../node/hills/hillCarrier.js'
import type { MakeHills } from '../../node/hills/hills.js'
import { lossJournal } from '../../node/lossJournal.js'
import { createNode } from '../../node/node.js'
import type { NodeOptions } from '../../node/options.js'
import type { ServiceNode } from '../../node/serviceNode.js'
import type { RadioPort } from '../../radio/radioPort.js'
import { type Cancel, type Clock, every } from '../../runtime/clock.js'
import { type ClockTrust, clockTrust } from '../../runtime/clockTrust.js'
import type { Random } from '../../runtime/random.js'
import { createServices, type OpenServices } from '../../services/all.js'
import type { TacticalNames } from '../../services/event/tacticalNames.js'
import { isOffered, repeaterWords } from '../../services/repeaters/entry.js'
import type { GeoPosition } from '../../services/service.js'
import type { AlertParts, Alerts } from '../../setup/alerts.js'
import { bootId } from '../../setup/bootId.js'
import type { EmergencyCommand } from '../../setup/emergencyCommand.js'
import { networkTimeMark } from '../../setup/networkTime.js'
import { nodeOptions, storeOptions } from '../../setup/nodeOptions.js'
import type { OpenBroker, OpenBrokerState } from '../../setup/openBroker.js'
import type { OpenControl } from '../../setup/openControl.js'
import type { OpenEmail } from '../../setup/openEmail.js'
import type { OpenEvent } from '../../setup/openEvent.js'
import { serviceEventWords, serviceOptions } from '../../setup/serviceOptions.js'
import { openReadings, type Readings } from '../../setup/telemetryReadings.js'
import { removeBrokenCopies } from '../../store/partialCopy.js'
import { openStore, type Store } from '../../store/store.js'
import type { Wording } from '../../words/air/wording.js'
import type { RunLog } from './runLog.js'

export interface RunningNodeOptions {
  readonly config: Config
  readonly configFile: string
  readonly ports: readonly RadioPort[]
  readonly clock: Clock
  readonly random: Random
  readonly nextId: () => string
  readonly log: RunLog
  /** the database is left as it is, and nothing is kept */
  readonly withoutDatabase?: boolean
}

/** The node with everything that it stands on: database, services, telemetry, GPS. */
export interface RunningNode {
  readonly node: ServiceNode
  readonly store: Store
  /** of its event; undefined where none is configured */
  readonly names?: TacticalNames | undefined
  /** undefined where none is configured; to be started once the node has been */
  readonly broker?: { start(): void; readonly state: OpenBrokerState } | undefined
  /** whether the wall clock is believed */
  isClockTrusted(): boolean
  /** Takes over what a node can take over while it runs. */
  takeConfig(config: Config): void
  /** as it was started with, and what was taken over since */
  config(): Config
  /** Stops the conversations; the ports are still open, and the caller's to close before release(). */
  stop(): void
  /** Lets go of services and database, once nothing can come from the ports any more. */
  release(): Promise<void>
}

/** @throws Failure when the database cannot be opened at all; whatever is thrown, nothing stays open */
export async function openRunningNode(options: RunningNodeOptions): Promise<RunningNode> {
  const { config, clock, log } = options
  const folder = dirname(resolve(options.configFile))
  const services = createServices(
    serviceOptions(config, folder, clock, (event) => {
      for (const line of serviceEventWords(event)) log.fault(line)
      if (event.kind === 'loaded') log.note(`${event.what}: ${event.count} of ${event.file}`)
    }),
  )
  let store: Store | undefined
  const release = async (): Promise<void> => {
    await services.close()
    store?.close()
  }
  try {
    const trust = clockTrust(clock, { networkTimeMark })
    const stored = storeOptions(config, folder, clock, (failure) => log.fault(failure.message))
    for (const partial of await removeBrokenCopies(stored.file, clock))
      log.note(`${partial}: removed; a back-up or restore that was broken off had left it`)
    store = openStore({
      ...stored,
      clockTrust: trust,
      withoutFile: options.withoutDatabase ?? false,
    })
    const assembled = await assembleNode(options, { services, store, trust })
    return { ...assembled, store, release, isClockTrusted: () => trust.trusted() }
  } catch (error) {
    await release()
    throw error
  }
}

async function assembleNode(
  options: RunningNodeOptions,
  { services, store, trust }: { services: OpenServices; store: Store; trust: ClockTrust },
): Promise<Omit<RunningNode, 'store' | 'release' | 'isClockTrusted'>> {
  const { config, clock, log } = options
  let present = config
  const folder = dirname(resolve(options.configFile))
  /** the latest first */
  const closers: (() => void)[] = []
  let node: ServiceNode | undefined
  const stop = (): void => {
    for (const close of closers.splice(0)) close()
  }
  try {
    const parts = { services, store, trust, onNames: () => node?.namesChanged() }
    const event = await openEventAndControl(options, folder, parts, closers)
    const readings = openReadings(config.beacons.telemetry, folder, clock, (channel, reason) =>
      log.fault(`telemetry ${channel}: ${reason}`),
    )
    closers.unshift(() => readings.close())
    const emergency = await openEmergencyCommand(options)
    closers.unshift(() => emergency?.close())
    let alerts: Alerts | undefined
    const repeater = await openConfiguredDigipeater(config)
    const connected = await openConfiguredConnected(config)
    const broker = await openConfiguredBroker(options, folder, trust)
    const hills = await openConfiguredHills(config, store, broker?.carrier)
    const email = await openConfiguredEmail(options, folder)
    // After the node, which gives mail to it.
    closers.unshift(() => email?.close())
    closers.unshift(() => broker?.close())
    const weather =
      config.services.conditions.instrument === 'none' ? {} : { weather: services.weather }
    const wording = services.wordings.of(config.station.language)
    const optionsOf = (one: Config): NodeOptions =>
      nodeOptions(one, {
        wordings: services.wordings,
        telemetry: readings.channels,
        nearestRepeaters: (count) =>
          nearestObjects(services, node?.state().position, count, wording),
        ...weather,
      })
    node = createNode({
      ports: options.ports,
      clock,
      clockTrust: trust,
      bootId: bootId(),
      ...{ random: options.random, nextId: options.nextId, store },
      vocabulary: services.vocabulary,
      wordings: services.wordings,
      services: services.services,
      event,
      options: optionsOf(config),
      digipeater: repeater,
      connected,
      hills,
      email: email?.make,
      onEvent: log.node,
      ...(tellsOfCalls(config) && {
        onEmergency(report) {
          emergency?.tell(report)
          alerts?.emergency(report)
        },
      }),
    })
    const started = node
    closers.unshift(() => started.stop())
    const looksAlways = config.store.explainsLosses
    closers.unshift(lossJournal({ ports: options.ports, store, clock, looksAlways }))
    alerts = await openConfiguredAlerts(options, {
      ...{ node: started, store, telemetry: readings.channels, wordings: services.wordings },
      folder: dirname(resolve(folder, config.store.file)),
      sendMail: email?.alert,
      brokerUp: broker && (() => broker.state.isUp),
    })
    closers.unshift(() => alerts?.close())
    closers.unshift(startGps(options, started, trust))
    return {
      ...{ node: started, stop, names: event?.names, config: () => present },
      broker: broker && startable(broker, readings.channels),
      takeConfig(one) {
        started.setOptions(optionsOf(one))
        present = one
      },
    }
  } catch (error) {
    stop()
    throw error
  }
}

/** What the node answers besides its services, loaded only where it is configured: control by radio, and the event. */
async function openEventAndControl(
  options: RunningNodeOptions,
  folder: string,
  {
    services,
    store,
    trust,
    onNames,
  }: { services: OpenServices; store: Store; trust: ClockTrust; onNames: () => void },
  closers: (() => void)[],
): Promise<OpenEvent | undefined> {
  const event = await openConfiguredEvent(options, folder, { services, store, onNames })
  closers.unshift(() => event?.close())
  const control = await openConfiguredControl(options, folder, { trust, store, event })
  closers.unshift(() => control?.close())
  services.add([...(control?.services ?? []), ...(event?.services ?? [])])
  await Promise.all([services.ready, event?.ready])
  return event
}

async function openConfiguredEvent(
  { config, clock, log }: RunningNodeOptions,
  folder: string,
  parts: { services: OpenServices; store: Store; onNames: () => void },
): Promise<OpenEvent | undefined> {
  if (config.event.name === '') return undefined
  const [{ openEvent }, { eventOptions }] = await Promise.all([
    import('../../setup/openEvent.js'),
    import('../../setup/eventOptions.js'),
  ])
  const { services, store, onNames } = parts
  const wording = services.wordings.of(config.station.language)
  return openEvent({
    ...{ options: eventOptions(config, folder, wording)!, wording, clock, store, onNames },
    onFault: log.fault,
    onNote(text) {
      store.events.add({ atWallMs: clock.wallMs(), kind: 'control', text })
      log.note(text)
    },
  })
}

/** Loaded only where it is configured. */
async function openConfiguredDigipeater(config: Config): Promise<MakeDigipeater | undefined> {
  if (!config.digipeater.enabled) return undefined
  const [{ digipeater }, { digipeaterOptions }] = await Promise.all([
    import('../../node/digipeater/digipeater.js'),
    import('../../setup/digipeaterOptions.js'),
  ])
  const options = digipeaterOptions(config)
  return (parts) => digipeater({ ...parts, options })
}

const tellsOfCalls = ({ emergency, alerts }: Config): boolean =>
  emergency.command.length > 0 || alerts.rule.some(({ when }) => when === 'emergency')

/** Loaded only where there are rules. */
async function openConfiguredAlerts(
  { config, clock, ports, log }: RunningNodeOptions,
  parts: Omit<AlertParts, 'clock' | 'ports' | 'options' | 'onFault' | 'onAlert'>,
): Promise<Alerts | undefined> {
  if (config.alerts.rule.length === 0) return undefined
  const { openAlerts, alertOptions } = await import('../../setup/alerts.js')
  return openAlerts({
    ...{ ...parts, clock, ports, options: alertOptions(config), onFault: log.fault },
    onAlert: log.note,
  })
}

/** Loaded only where it is configured. */
async function openConfiguredConnected(config: Config): Promise<MakeConnected | undefined> {
  if (!config.connected.enabled) return undefined
  const [{ connectedMode }, { connectedOptions }] = await Promise.all([
    import('../../node/connected/connectedMode.js'),
    import('../../setup/connectedOptions.js'),
  ])
  const options = connectedOptions(config)
  return (parts) => connectedMode({ ...parts, options })
}

/** Loaded only where it is configured: over connected mode, or by a broker. */
async function openConfiguredHills(
  config: Config,
  store: Store,
  carrier: HillCarrier | undefined,
): Promise<MakeHills | undefined> {
  if (!config.hills.enabled || (!config.connected.enabled && carrier === undefined))
    return undefined
  const [{ hills }, { hillOptions, lifeMarkBeside }, { connectedOptions }] = await Promise.all([
    import('../../node/hills/hills.js'),
    import('../../setup/hillOptions.js'),
    import('../../setup/connectedOptions.js'),
  ])
  const options = hillOptions(config)
  const letters = config.connected.enabled ? connectedOptions(config).letters : undefined
  const lifeMark = store.degraded ? undefined : lifeMarkBeside(store.file)
  return (needs) => hills({ ...needs, options, letters, lifeMark, carrier })
}

const startable = (broker: OpenBroker, telemetry: Readings['channels']): RunningNode['broker'] => ({
  start: () => broker.start(telemetry),
  get state() {
    return broker.state
  },
})

/** Loaded only where it is configured. */
async function openConfiguredBroker(
  { config, clock, ports, log }: RunningNodeOptions,
  folder: string,
  clockTrust: ClockTrust,
): Promise<OpenBroker | undefined> {
  if (!config.broker.enabled) return undefined
  const { openBroker } = await import('../../setup/openBroker.js')
  return openBroker({
    ...{ config, folder, clock, clockTrust, ports, onFault: log.fault, onNote: log.note },
  })
}

/** Loaded only where it is configured. */
async function openConfiguredEmail(
  { config, log }: RunningNodeOptions,
  folder: string,
): Promise<OpenEmail | undefined> {
  if (!config.email.enabled) return undefined
  const { openEmail } = await import('../../setup/openEmail.js')
  return openEmail(config, folder, log.fault)
}

/** Loaded only where it is configured. */
async function openConfiguredControl(
  { config, clock, ports, log }: RunningNodeOptions,
  folder: string,
  { trust, store, event }: { trust: ClockTrust; store: Store; event: OpenEvent | undefined },
): Promise<OpenControl | undefined> {
  const { file, window } = config.control
  if (file === '') return undefined
  const { openControl } = await import('../../setup/openControl.js')
  return openControl({
    file: resolve(folder, file),
    window,
    clock,
    clockTrust: trust,
    ports,
    names: event?.names,
    onCommand(text) {
      const event = { atWallMs: clock.wallMs(), kind: 'control', text } as const
      store.events.add(event)
      log.node(event)
    },
    onFault: log.fault,
  })
}

/** Loaded only where it is configured. */
async function openEmergencyCommand({
  config,
  clock,
  log,
}: RunningNodeOptions): Promise<EmergencyCommand | undefined> {
  const { command } = config.emergency
  if (command.length === 0) return undefined
  const { emergencyCommand } = await import('../../setup/emergencyCommand.js')
  return emergencyCommand({ clock, command, onFault: log.fault })
}

/** Names on the map are at most 9 characters, comments 43 (APRS reference 1.0.1, chapter 11). */
const commentCharacters = 43

function nearestObjects(
  services: OpenServices,
  position: GeoPosition | undefined,
  count: number,
  wording: Wording,
): BeaconObject[] {
  if (position === undefined || count === 0) return []
  const near = services.repeaters()?.nearest(position, count, isOffered) ?? []
  return near.map(({ entry }) => ({
    name: entry.outputMHz.toFixed(3),
    position: { latitudeDeg: entry.latitudeDeg, longitudeDeg: entry.longitudeDeg },
    symbol: '/r',
    comment: repeaterWords(entry, commentCharacters, wording),
  }))
}

const gpsLookMs = 10_000
/** Passes shift by less than they are told to; a log's lines stay in order. */
const clockOffMsMax = 5_000

/** Hands what the GPS says to the node, and says when the machine's clock is off. */
function startGps(
  { config, clock, log }: RunningNodeOptions,
  node: ServiceNode,
  trust: ClockTrust,
): Cancel {
  const { device, lineBitRate, position } = config.node.gps
  if (device === '') return () => {}
  const gps = createGps(clock)
  const closeLine = openGpsSerial({
    device,
    lineBitRate,
    clock,
    gps,
    onFault: (failure) => log.fault(failure.message),
  })
  let isOff = false
  const look = (): void => {
    const state = gps.state()
    if (position && state.position !== undefined) node.setPosition(state.position, 'GPS')
    const { clockBehindMs } = state
    if (clockBehindMs === undefined) return
    trust.gpsSays(clockBehindMs)
    const wasOff = isOff
    isOff = Math.abs(clockBehindMs) > clockOffMsMax
    node.setTimeSource(isOff ? 'system, off' : 'GPS')
    if (isOff && !wasOff) {
      const side = clockBehindMs > 0 ? 'behind' : 'ahead of'
      const seconds = Math.round(Math.abs(clockBehindMs) / 1000)
      log.fault(`the machine's clock is ${seconds} s ${side} GPS time; set it`)
    }
  }
  const cancel = every(clock, gpsLookMs, look)
  return () => {
    cancel()
    closeLine()
  }
}
