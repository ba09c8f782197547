import { dirname, resolve } from 'node:path'
import { createInterface } from 'node:readline'
import type { SteadyCapture } from '../capture/steadyCapture.js'
import type { Config } from '../config/schema.js'
import { boundedPort } from '../radio/boundedPort.js'
import type { RadioPort } from '../radio/radioPort.js'
import { tapPort } from '../radio/tapPort.js'
import type { Clock } from '../runtime/clock.js'
import { createGuard, guardedClock } from '../runtime/guard.js'
import { quietEvents } from '../runtime/quietEvents.js'
import { randomId } from '../runtime/random.js'
import { clientRecord } from './clientRecord.js'
import { lockDatabase } from './databaseLock.js'
import type { Edges } from './edges.js'
import { lockRadios } from './keyLocks.js'
import { openConfiguredKiss } from './kissEnds.js'
import { openRadio } from './openRadio.js'
import type { KeepingLog, RunLog } from './runLog.js'
import { openRunningNode, type RunningNode } from './runNode.js'
import { silentRadios } from './silentRadios.js'
import { createServiceNotifier } from './systemdNotify.js'

export interface RunLiveOptions {
  readonly config: Config
  readonly configFile: string
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

async function runRadios(options: RunLiveOptions): Promise<void> {
  const { config, configFile, edges, capture } = options
  const { clock, random } = edges
  const log = options.openLog(clock)
  // What a timer of the database, a service or a client throws is told, and ends nothing. A radio's driver has guards of its own.
  const guard = createGuard(({ what, reason }) => log.fault(`${what}: ${reason}`))
  const guarded = guardedClock(clock, guard)
  const folder = dirname(resolve(configFile))
  const nextId = (): string => randomId(random)
  const wallOf = (atMs: number): number => clock.wallMs() - (clock.monotonicMs() - atMs)

  const radios = config.radios.map((_, number) =>
    openRadio(config, number, folder, { clock, random, onFault: log.fault }),
  )
  const ports = radios.map(({ port }) =>
    tapPort(bounded(port, log, clock), (octets, atMs) =>
      capture?.write(octets, wallOf(atMs), port.radio),
    ),
  )
  for (const port of ports) {
    port.onEvent((event) => log.radio(port.name, event))
    port.onFrame(({ octets, radio, heardAtWallMs }) => capture?.write(octets, heardAtWallMs, radio))
  }
  const closePorts = async (): Promise<void> => {
    await Promise.all(ports.map((port) => port.close()))
  }

  let running: RunningNode | undefined
  try {
    running = await openRunningNode({
      ...{ config, configFile, ports, random, nextId, log },
      clock: guarded,
    })
    log.keepFaultsIn(running.store)
    const kiss = await openConfiguredKiss({
      kiss: config.kiss,
      ownCall: config.station.call,
      ports,
      clock: guarded,
      nextId,
      record: clientRecord({ store: running.store, clock, onEvent: log.node }),
    })
    if (kiss.tcp !== undefined)
      log.note(`KISS over TCP on ${config.kiss.tcp.address} port ${kiss.tcp.port}`)
    const notifier = createServiceNotifier({
      env: edges.env,
      clock: guarded,
      pid: process.pid,
      // This thread is turning, or it would not be asked. A full disk or a missing card no restart would mend.
      whatIsWrong: () => silentRadios(radios, clock.monotonicMs()),
      onFault: log.fault,
    })
    for (const { start } of radios) start()
    running.node.start()
    log.note(startWords(config, ports))
    notifier.ready(startWords(config, ports))
    await stopAsked(edges, ports, running, log)
    notifier.stopping()
    log.note('stopping: an identification that is due goes out first, which takes seconds at most')
    running.stop()
    await kiss.close()
    await closePorts()
    notifier.close()
  } catch (error) {
    running?.stop()
    await closePorts()
    throw error
  } finally {
    await running?.release()
  }
  log.note('stopped, unkeyed')
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

/** Waits for a signal, or for the operator at the terminal. */
function stopAsked(
  edges: Edges,
  ports: readonly RadioPort[],
  running: RunningNode,
  log: RunLog,
): Promise<void> {
  return new Promise((resolve) => {
    edges.onStop(resolve)
    const { stdin } = edges
    if ((stdin as { isTTY?: boolean }).isTTY !== true) return
    log.note('type: hold, release, state or stop')
    const lines = createInterface({ input: stdin, terminal: false })
    const stop = (): void => {
      lines.close()
      resolve()
    }
    edges.onStop(() => lines.close())
    lines.on('line', (line) => operatorLine(line.trim(), ports, running, log, stop))
  })
}

function operatorLine(
  line: string,
  ports: readonly RadioPort[],
  running: RunningNode,
  log: RunLog,
  stop: () => void,
): void {
  switch (line) {
    case '':
      return
    case 'hold':
      for (const port of ports) port.hold('operator', 'held at the terminal')
      return
    case 'release':
      for (const port of ports) port.release('operator')
      return
    case 'state':
      log.note(stateWords(ports, running))
      return
    case 'stop':
      stop()
      return
    default:
      log.note(`"${line}": expected hold, release, state or stop`)
  }
}

function stateWords(ports: readonly RadioPort[], { node }: RunningNode): string {
  const radios = ports.map((port) => {
    const state = port.state()
    const words = [
      state.receiving ? 'receiving' : 'not receiving',
      state.keyed ? 'keyed' : state.channelBusy ? 'channel busy' : 'channel free',
      `${state.queuedCount} waiting`,
      `duty ${Math.round(state.dutyUsed * 100)} % used`,
    ]
    if (state.transmitBlockedBy !== undefined) words.push(`not sending: ${state.transmitBlockedBy}`)
    if (state.doubt !== undefined) words.push(state.doubt)
    return `${port.name}: ${words.join(', ')}`
  })
  const { framesHeardCount, openQuestionCount, openMessageCount, mailboxCount } = node.state()
  return [
    ...radios,
    `${framesHeardCount} frames heard, ${openQuestionCount} questions and ${openMessageCount} messages open, ${mailboxCount} in the mailbox`,
  ].join('; ')
}
