import { createInterface } from 'node:readline'
import type { Edges } from '../../devices/edges.js'
import type { RadioPort } from '../../radio/radioPort.js'
import type { RunLog } from './runLog.js'
import type { RunningNode } from './runNode.js'

/** Waits for a signal, or for the operator at the terminal. */
export function stopAsked(
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
  const { framesHeardCount, openQuestionCount, openMessageCount, mailboxCount, digipeater } =
    node.state()
  return [
    ...radios,
    `${framesHeardCount} frames heard, ${openQuestionCount} questions and ${openMessageCount} messages open, ${mailboxCount} in the mailbox`,
    ...(digipeater === undefined ? [] : [`${digipeater.repeatedCount} frames repeated`]),
  ].join('; ')
}
