import { loadConfig } from '../../config/load.js'
import type { Config } from '../../config/schema.js'
import type { RadioPort } from '../../radio/radioPort.js'
import { errorText } from '../../runtime/errorText.js'
import type { OperatorReply } from '../../setup/operatorCommands.js'
import { configChange, takenInto } from '../../setup/reloading.js'
import type { RunLog } from './runLog.js'
import type { RunningNode } from './runNode.js'

export interface ReloadParts {
  readonly configFile: string
  /** as it was started with */
  readonly config: Config
  /** what the command line changes in whatever a file says */
  readonly adjust: (config: Config) => Config
  readonly ports: readonly RadioPort[]
  readonly running: Pick<RunningNode, 'takeConfig'>
  readonly log: RunLog
}

/**
 * Reads the configuration again; what can change while it runs is taken over, the rest is named. The radios go on: no channel is
 * closed, no transmission is cut. A file that is wrong changes nothing.
 */
export function createReload(parts: ReloadParts): () => Promise<OperatorReply> {
  const { configFile, adjust, ports, running, log } = parts
  let current = parts.config
  let last: Promise<unknown> = Promise.resolve()

  const once = async (): Promise<OperatorReply> => {
    let next: Config
    try {
      next = adjust(await loadConfig(configFile))
    } catch (error) {
      return { ok: false, lines: [...errorText(error).split('\n'), 'Nothing is changed.'] }
    }
    const { taken, restart } = configChange(current, next)
    const merged = takenInto(current, next, taken)
    if (taken.length > 0) running.takeConfig(merged)
    current = merged
    if (taken.length > 0) {
      log.change(current.log)
      for (const [number, port] of ports.entries()) takeAccess(port, current, number, taken)
    }
    return { ok: true, lines: lines(taken, restart) }
  }

  return () => {
    // One after the other: two that overlap would each compare with what the other replaces.
    const turn = last.then(once)
    last = turn.catch(() => {})
    return turn
  }
}

/** Only where the file says something else: what a KISS client has set stays otherwise. */
function takeAccess(
  port: RadioPort,
  { radios }: Config,
  number: number,
  taken: readonly string[],
): void {
  const isOfRadio = (key: string): boolean =>
    key.startsWith(`radio.${number}.transmit.`) || key.startsWith('transmit.')
  const radio = radios[number]
  if (radio === undefined || !taken.some(isOfRadio)) return
  const { slotTimeMs, persistence, fullDuplex } = radio.transmit
  port.setAccess({ slotTimeMs, persistence, fullDuplex })
}

function lines(taken: readonly string[], restart: readonly string[]): string[] {
  if (taken.length + restart.length === 0) return ['Nothing has changed in it.']
  return [
    ...(taken.length === 0 ? [] : [`Taken over: ${taken.join(', ')}.`]),
    ...(restart.length === 0 ? [] : [`Needs a restart: ${restart.join(', ')}.`]),
  ]
}
