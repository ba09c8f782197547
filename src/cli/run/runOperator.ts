import { resolve } from 'node:path'
import { createInterface } from 'node:readline'
import type { Config } from '../../config/schema.js'
import type { Edges } from '../../devices/edges.js'
import type { RadioPort } from '../../radio/radioPort.js'
import type { Clock } from '../../runtime/clock.js'
import { counted } from '../../runtime/counted.js'
import { errorText } from '../../runtime/errorText.js'
import type { Guard } from '../../runtime/guard.js'
import { type KeptHolds, operatorSource } from '../../setup/keptHolds.js'
import type { OperatorReply } from '../../setup/operatorCommands.js'
import type { OperatorSocket } from '../../setup/operatorSocket.js'
import type { RunLog } from './runLog.js'
import type { RunningNode } from './runNode.js'

/** Waits for a signal, or for the operator at the terminal. */
export function stopAsked(
  edges: Edges,
  ports: readonly RadioPort[],
  running: RunningNode,
  log: RunLog,
  guard: Pick<Guard, 'faultCount'>,
  clients: () => readonly string[],
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
    lines.on('line', (line) =>
      operatorLine(line.trim(), { ports, running, log, guard, clients, stop }),
    )
  })
}

interface OperatorParts {
  readonly ports: readonly RadioPort[]
  readonly running: RunningNode
  readonly log: RunLog
  readonly guard: Pick<Guard, 'faultCount'>
  readonly clients: () => readonly string[]
  readonly stop: () => void
}

function operatorLine(
  line: string,
  { ports, running, log, guard, clients, stop }: OperatorParts,
): void {
  switch (line) {
    case '':
      return
    case 'hold':
      for (const port of ports) port.hold(operatorSource, 'held at the terminal')
      return
    case 'release':
      for (const port of ports) port.release(operatorSource)
      return
    case 'state':
      log.note(stateLines(ports, running, guard.faultCount, clients()).join('; '))
      return
    case 'stop':
      stop()
      return
    default:
      log.note(`"${line}": expected hold, release, state or stop`)
  }
}

/** What the node does, a line a radio and one for the whole. */
function stateLines(
  ports: readonly RadioPort[],
  { node, broker }: RunningNode,
  otherFaults: number,
  clients: readonly string[],
): string[] {
  let faultCount = otherFaults
  const radios = ports.map((port) => {
    const state = port.state()
    faultCount += state.faultCount ?? 0
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
  const {
    framesHeardCount,
    openQuestionCount,
    openMessageCount,
    mailboxCount,
    notOffered,
    digipeater,
    connected,
    email,
    hills,
    ...rest
  } = node.state()
  faultCount += rest.faultCount
  return [
    ...radios,
    `${counted(framesHeardCount, 'frame')} heard, ${counted(openQuestionCount, 'question')} and ${counted(openMessageCount, 'message')} open, ${mailboxCount} in the mailbox`,
    ...notOffered.map(({ keyword, reason }) => `${keyword} is not offered: ${reason}`),
    ...(clients.length === 0 ? [] : [`KISS clients: ${clients.join(', ')}`]),
    ...(connected === undefined ? [] : [`${counted(connected.openCount, 'station')} connected`]),
    ...(digipeater === undefined ? [] : [repeatedWords(digipeater)]),
    ...(email === undefined ? [] : [emailWords(email)]),
    ...(hills === undefined ? [] : hillWords(hills)),
    ...(broker === undefined ? [] : [brokerWords(broker.state)]),
    ...(faultCount > 0 ? [`${counted(faultCount, 'fault')} of the program (see the log)`] : []),
  ]
}

/** A line a neighbour, and one for all that waits. */
function hillWords({
  neighbours,
  routes,
  openCount,
  usedMs,
}: NonNullable<ReturnType<RunningNode['node']['state']>['hills']>): string[] {
  const ways = routes.map(({ node, next, hops }) => (hops === 1 ? node : `${node} by ${next}`))
  return [
    ...neighbours.map(({ call, heardAgoMs, online, sessionCount, failureCount }) => {
      const onAir =
        heardAgoMs === undefined ? 'not heard' : `heard ${Math.round(heardAgoMs / 60_000)} min ago`
      const heard =
        online === undefined || heardAgoMs !== undefined
          ? onAir + (online === undefined ? '' : online ? ', at the broker' : ', not at the broker')
          : online
            ? 'at the broker'
            : 'not at the broker'
      return `${call}: ${heard}, ${counted(sessionCount, 'session')}, ${failureCount} that failed`
    }),
    `between nodes: ${openCount} open, ${Math.round(usedMs / 1000)} s sent in the last hour, ways to ${ways.join(', ') || 'nobody'}`,
  ]
}

/** 'broker: connected, 31 messages out, 12 in, 1 session; left out: 2 (no piece of a session: Q1FAR-5)' */
function brokerWords(state: NonNullable<RunningNode['broker']>['state']): string {
  const { isUp, trouble, sentCount, heardCount, openCount, ignored } = state
  const link = isUp ? 'connected' : `not connected${trouble === undefined ? '' : `: ${trouble}`}`
  const left = ignored
    .slice(0, endingsShown)
    .map(({ what, reason, count }) => `${count} (${reason === '' ? what : `${what}: ${reason}`})`)
  return `broker: ${link}, ${counted(sentCount, 'message')} out, ${heardCount} in, ${counted(openCount, 'session')}${left.length === 0 ? '' : `; left out: ${left.join(', ')}`}`
}

type DigipeaterState = NonNullable<ReturnType<RunningNode['node']['state']>['digipeater']>

/** '3 frames repeated; not repeated: 4 (too many wait), 2 (...)' */
function repeatedWords({ repeatedCount, reasons }: DigipeaterState): string {
  const not = reasons.map(({ reason, count }) => `${count} (${reason})`)
  return `${counted(repeatedCount, 'frame')} repeated${not.length === 0 ? '' : `; not repeated: ${not.join(', ')}`}`
}

type EmailState = NonNullable<ReturnType<RunningNode['node']['state']>['email']>

/** 'mail: 2 wait, no link: the mail server cannot be reached; 3 sent, 1 not taken (...)' */
function emailWords({ waitingCount, trouble, counts }: EmailState): string {
  const ends = counts
    .slice(0, endingsShown)
    .map(({ what, reason, count }) => `${count} ${what}${reason === '' ? '' : ` (${reason})`}`)
  const waits = `mail: ${waitingCount} to be sent${trouble === undefined ? '' : `, nothing goes: ${trouble}`}`
  return [waits, ...ends].join('; ')
}
const endingsShown = 8

/** The operator's socket, where it is configured, loaded only then. One that cannot be had stops no node: it is told. */
export async function openConfiguredOperator(parts: {
  readonly config: Config
  /** of the configuration file */
  readonly folder: string
  readonly clock: Clock
  readonly ports: readonly RadioPort[]
  readonly running: RunningNode
  readonly log: RunLog
  readonly holds: KeptHolds | undefined
  readonly guard: Pick<Guard, 'faultCount'>
  /** names of the KISS clients that are connected */
  readonly clients: () => readonly string[]
  readonly reload: () => Promise<OperatorReply>
}): Promise<OperatorSocket | undefined> {
  const { config, clock, ports, running, log, holds, guard, reload } = parts
  if (config.operator.socket === '' || holds === undefined) return undefined
  try {
    const path = resolve(parts.folder, config.operator.socket)
    const [{ openOperatorSocket }, { doForOperator }, { weekLines }] = await Promise.all([
      import('../../setup/operatorSocket.js'),
      import('../../setup/operatorCommands.js'),
      import('./weekLines.js'),
    ])
    const socket = await openOperatorSocket(path, clock, (request) =>
      doForOperator(request, {
        ...{ clock, ports, holds, reload, node: running.node, names: running.names },
        stateLines: async () => [
          ...stateLines(ports, running, guard.faultCount, parts.clients()),
          ...(await weekLines(config, running.store, clock)),
        ],
        note(event) {
          running.store.events.add(event)
          log.node(event)
        },
      }),
    )
    log.note(`the operator's socket is ${path}`)
    return socket
  } catch (error) {
    log.fault(errorText(error))
    return undefined
  }
}
