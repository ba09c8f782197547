import { dirname, resolve } from 'node:path'
import type { SteadyCapture } from '../../capture/steadyCapture.js'
import type { Config } from '../../config/schema.js'
import type { Edges } from '../../devices/edges.js'
import { boundedPort } from '../../radio/boundedPort.js'
import type { RadioPort } from '../../radio/radioPort.js'
import { tapPort } from '../../radio/tapPort.js'
import type { Clock } from '../../runtime/clock.js'
import { errorText } from '../../runtime/errorText.js'
import { Failure } from '../../runtime/failure.js'
import { createGuard, guardedClock } from '../../runtime/guard.js'
import { quietEvents } from '../../runtime/quietEvents.js'
import { randomId } from '../../runtime/random.js'
import { bootId } from '../../setup/bootId.js'
import { clientRecord } from '../../setup/clientRecord.js'
import { lockDatabase } from '../../setup/databaseLock.js'
import { type KeptHolds, keptHolds } from '../../setup/keptHolds.js'
import { lockRadios } from '../../setup/keyLocks.js'
import { type ConfiguredKiss, openConfiguredKiss } from '../../setup/kissEnds.js'
import { storeOptions } from '../../setup/nodeOptions.js'
import { type ConfiguredRadio, openRadio } from '../../setup/openRadio.js'
import type { OperatorSocket } from '../../setup/operatorSocket.js'
import { silentRadios } from '../../setup/silentRadios.js'
import { createServiceNotifier, type ServiceNotifier } from '../../setup/systemdNotify.js'
import { openStore } from '../../store/store.js'
import type { PageServer } from '../../web/server.js'
import { createLastResort } from './lastResort.js'
import { createReload } from './reload.js'
import type { KeepingLog, RunLog } from './runLog.js'
import { openRunningNode, type RunningNode } from './runNode.js'
import { openConfiguredOperator, stopAsked } from './runOperator.js'
import { openConfiguredPage } from './runPage.js'
import { type SafeStart, safeStart } from './safeStart.js'
import { countStart, type StartCount } from './startCount.js'
import { type UsableAgain, usableAgain } from './usableAgain.js'

export interface RunLiveOptions {
  readonly config: Config
  readonly configFile: string
  /** what the command line changes in whatever a file says */
  readonly adjust: (config: Config) => Config
  readonly edges: Edges
  readonly openLog: (clock: Clock) => KeepingLog
  readonly capture?: SteadyCapture | undefined
}

/**
 * Runs the node on its radios until it is told to stop.
 * @throws Failure when the database or the KISS port cannot be opened, or another process has a radio's key line; a radio
 *   that is missing is waited for
 */
export async function runLive(options: RunLiveOptions): Promise<void> {
  const { config, configFile, edges } = options
  const numbers = [...config.radios.keys()]
  const folder = dirname(resolve(configFile))
  const unlock = await lockRadios(config, numbers, folder, edges.clock)
  try {
    const { file } = config.store
    const unlockDatabase = await lockDatabase(
      file === ':memory:' ? file : resolve(folder, file),
      edges.clock,
    )
    try {
      await runRadios(options)
    } finally {
      await unlockDatabase()
    }
  } finally {
    await unlock()
  }
}

/** Everything that is open, as far as it is. */
interface Opened {
  readonly radios: ConfiguredRadio[]
  readonly ports: RadioPort[]
  running?: RunningNode
  kiss?: ConfiguredKiss
  page?: PageServer
  holds?: KeptHolds
  operator?: OperatorSocket
  notifier?: ServiceNotifier
}

async function runRadios(options: RunLiveOptions): Promise<void> {
  const { config, configFile, edges } = options
  const log = options.openLog(edges.clock)
  const folder = dirname(resolve(configFile))
  const starts = countStarts(config, folder, edges, log)
  const opened: Opened = { radios: [], ports: [] }
  try {
    await openAndRun(options, { opened, log, starts })
    starts?.sound()
  } catch (error) {
    // What is said in words is no fault of the database.
    if (error instanceof Failure && error.code !== faultsCode) starts?.withdraw()
    throw error
  } finally {
    await closeAll(opened, log)
  }
  log.note('stopped, unkeyed')
}

interface RunParts {
  readonly opened: Opened
  readonly log: KeepingLog
  readonly starts: StartCount | undefined
}

async function openAndRun(options: RunLiveOptions, parts: RunParts): Promise<void> {
  const { config, configFile, edges } = options
  const { opened, starts } = parts
  const log = heardByPage(parts.log, opened, edges.clock)
  const { random } = edges
  // What a timer of the database, a service or a client throws is told, and ends nothing. A radio's driver has guards of its own.
  const guard = createGuard(({ what, reason }) => log.fault(`${what}: ${reason}`))
  const clock = guardedClock(edges.clock, guard)
  const nextId = (): string => randomId(random)
  openRadios(options, opened, log)
  const { radios, ports } = opened
  const endlessFaults = watchForFaults(edges, ports, log)
  const safe = safeStart(starts?.failedStarts ?? 0, config.store.file)
  const running = await openRunningNode({
    config,
    configFile,
    ports,
    clock,
    random,
    nextId,
    log,
    withoutDatabase: safe?.withoutDatabase ?? false,
  })
  opened.running = running
  log.keepFaultsIn(running.store)
  if (safe !== undefined) log.error(safe.words)
  const kiss = await openConfiguredKiss({
    kiss: config.kiss,
    ownCall: config.station.call,
    ports,
    clock,
    nextId,
    record: clientRecord({ store: running.store, clock, onEvent: log.node }),
  })
  opened.kiss = kiss
  if (kiss.tcp !== undefined)
    log.note(`KISS over TCP on ${config.kiss.tcp.address} port ${kiss.tcp.port}`)
  // This thread is turning, or it would not be asked. A full disk or a missing card no restart would mend.
  const whatIsWrong = (): string | undefined => silentRadios(radios, clock.monotonicMs())
  const page = await openConfiguredPage({
    ...{ config, clock, random, ports, running, log },
    trouble: whatIsWrong,
  })
  if (page !== undefined) opened.page = page
  const clients = (): readonly string[] => kiss.hub.clients
  const reload = createReload({ config, configFile, adjust: options.adjust, ports, running, log })
  edges.onReload(() => {
    void reload().then(({ lines }) => {
      for (const line of lines) log.note(`reload: ${line}`)
    })
  })
  const operator = await openConfiguredOperator({
    config,
    folder: dirname(resolve(configFile)),
    clock,
    ports,
    running,
    log,
    holds: opened.holds,
    ...{ guard, clients, reload },
  })
  if (operator !== undefined) opened.operator = operator
  const notifier = createServiceNotifier({
    env: edges.env,
    clock,
    pid: process.pid,
    whatIsWrong,
    onFault: log.fault,
  })
  for (const { start } of radios) start()
  running.node.start({ withoutPast: safe !== undefined })
  running.broker?.start()
  const words = `${safe === undefined ? '' : 'SAFE START; '}${startWords(config, ports)}`
  log.note(words)
  opened.notifier = notifier
  notifier.ready(words)
  const cancelSound = clock.at(clock.monotonicMs() + soundMs, () => starts?.sound())
  const database = watchDatabase(options, running, safe, log)
  const stop = stopAsked(edges, ports, running, log, guard, clients)
  try {
    await Promise.race([stop, endlessFaults, database?.again ?? stop])
  } finally {
    cancelSound()
    database?.cancel()
  }
  log.note('stopping: an identification that is due goes out first, which takes seconds at most')
}

/** Where the database was to be used, and could not be. */
function watchDatabase(
  { config, configFile, edges }: RunLiveOptions,
  { store }: RunningNode,
  safe: SafeStart | undefined,
  log: RunLog,
): UsableAgain | undefined {
  if (!store.degraded || safe?.withoutDatabase === true) return undefined
  const { clock, env } = edges
  const folder = dirname(resolve(configFile))
  const { whenUnusable: _, ...stored } = storeOptions(config, folder, clock, () => {})
  return usableAgain({
    ...{ clock, database: stored.file, onUsable: log.fault },
    tryIt: () => openStore(stored).close(),
    isService: (env.NOTIFY_SOCKET ?? '') !== '',
  })
}

/** The same log; those who look at the page are told what the node tells, and what fails. */
const heardByPage = (log: KeepingLog, opened: Opened, clock: Clock): KeepingLog => ({
  ...log,
  fault(text) {
    log.fault(text)
    opened.page?.node({ atWallMs: clock.wallMs(), kind: 'fault', text })
  },
  node(event) {
    log.node(event)
    opened.page?.node(event)
  },
})

/** In the order in which they can be closed: first what others stand on last. One that fails keeps none open. */
async function closeAll(opened: Opened, log: KeepingLog): Promise<void> {
  const { running, kiss, page, notifier, ports, operator, holds } = opened
  const steps: readonly (readonly [what: string, close: () => unknown])[] = [
    ['systemd', () => notifier?.stopping()],
    ['the node', () => running?.stop()],
    ['the page', () => page?.close()],
    ["the operator's socket", () => operator?.close()],
    ['the holds', () => holds?.close()],
    ['KISS', () => kiss?.close()],
    ['the radios', () => closeTogether(ports)],
    ['systemd', () => notifier?.close()],
    ['the log', () => log.keepFaultsIn(undefined)],
    ['the database', () => running?.release()],
  ]
  for (const [what, close] of steps) {
    try {
      await close()
    } catch (error) {
      log.error(`${what}: not closed in order: ${errorText(error)}`)
    }
  }
}

/** Each takes seconds where it owes an identification. @throws what the first of them threw, when all are done */
async function closeTogether(ports: readonly RadioPort[]): Promise<void> {
  const ends = await Promise.allSettled(ports.map((port) => port.close()))
  const failed = ends.find((end) => end.status === 'rejected')
  if (failed !== undefined) throw failed.reason
}

function openRadios(
  { config, configFile, edges, capture }: RunLiveOptions,
  opened: Opened,
  log: RunLog,
): void {
  const { clock, random } = edges
  const folder = dirname(resolve(configFile))
  const wallOf = (atMs: number): number => clock.wallMs() - (clock.monotonicMs() - atMs)
  const { file } = config.store
  const holds = keptHolds({
    file: file === ':memory:' ? undefined : `${resolve(folder, file)}.holds.json`,
    clock,
    onFault: log.fault,
  })
  opened.holds = holds
  for (const number of config.radios.keys()) {
    const radio = openRadio(config, number, folder, { clock, random, onFault: log.fault })
    const port = tapPort(bounded(holds.wrap(radio.port), log, clock), (octets, atMs) =>
      capture?.write(octets, wallOf(atMs), number),
    )
    opened.radios.push(radio)
    opened.ports.push(port)
    port.onEvent((event) => log.radio(port.name, event))
    port.onFrame(({ octets, heardAtWallMs }) => capture?.write(octets, heardAtWallMs, number))
  }
}

/** A start is sound when the node has run for so long after it. */
const soundMs = 60_000

function countStarts(
  { store }: Config,
  folder: string,
  { env }: Edges,
  log: RunLog,
): StartCount | undefined {
  if (store.file === ':memory:') return undefined
  return countStart({
    database: resolve(folder, store.file),
    runtimeFolder: env.RUNTIME_DIRECTORY,
    bootId: bootId(),
    onFault: log.fault,
  })
}

const faultsCode = 'run-faults'

/** @returns rejects when the program is at fault again and again; settles otherwise never */
function watchForFaults(edges: Edges, ports: readonly RadioPort[], log: RunLog): Promise<never> {
  const endless = new Promise<never>((_, reject) => {
    const onTooMany = (): void =>
      reject(
        new Failure({
          code: faultsCode,
          subject: 'run',
          got: 'one fault of the program after the other',
          expected: 'none',
          advice: 'it ends in order, to be started anew; please report what the log says of them',
        }),
      )
    const { clock, onUncaught } = edges
    onUncaught(createLastResort({ clock, ports, onError: log.error, onTooMany }))
  })
  // It may come before anybody waits for it.
  endless.catch(() => {})
  return endless
}

/** What a broken modem tells beyond what any channel carries is dropped, and said now and then. */
function bounded(port: RadioPort, log: RunLog, clock: Clock): RadioPort {
  const tellQuietly = quietEvents(clock, log.fault, 60_000)
  return boundedPort(port, {
    clock,
    onDropped: (reason) =>
      tellQuietly(reason, `${port.name}: a frame that was heard is dropped: ${reason}`),
    onFault: (text) => log.fault(`${port.name}: ${text}`),
  })
}

function startWords(config: Config, ports: readonly RadioPort[]): string {
  const names = ports.map(({ name }) => name).join(', ')
  const sending = config.radios.some(({ transmit }) => transmit.enabled)
    ? 'sending is enabled'
    : 'receiving only'
  return `${config.station.call} on ${names}; ${sending}`
}
