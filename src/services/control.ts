import { parseAddress } from '../ax25/address.js'
import type { CodeCheck } from '../control/codeCheck.js'
import { type ControlMessage, parseControlMessage } from '../control/controlCommand.js'
import type { StationHold } from '../control/stationHold.js'
import type { Clock } from '../runtime/clock.js'
import type { TacticalNames } from './event/tacticalNames.js'
import type { Service } from './service.js'

export interface ControlServicesParts {
  readonly clock: Clock
  readonly check: CodeCheck
  readonly hold: StationHold
  /** a call without SSID that may send commands */
  readonly isEnrolled: (call: string) => boolean
  /** the station in a few words: duty used, frames that wait, holds */
  readonly describeState: () => string
  /** of an event; absent where none is configured */
  readonly names?: Pick<TacticalNames, 'give'> | undefined
  /** every command, with what became of it */
  readonly onCommand: (text: string) => void
}

/**
 * `hold [30m] CODE`, `release CODE` and `state CODE` by radio, from the control operators' calls only: to everybody else they are
 * not there. The code says who sent it and hides nothing.
 */
export function controlServices(parts: ControlServicesParts): Service[] {
  const { clock, check, hold } = parts

  const judge = (from: string, call: string, { command, code }: ControlMessage): string => {
    const usual = command.kind === 'tactical' ? 'tactical NAME CALL' : command.kind
    if (code === undefined) return `Send ${usual} CODE, with the next code of your list.`
    const verdict = check.judge(call, code, command.kind === 'hold', clock.monotonicMs())
    parts.onCommand(`${command.kind} from ${from}: ${verdict.ok ? 'done' : verdict.reason}`)
    if (!verdict.ok) return `Not done: ${verdict.reason}.`
    if (command.kind === 'state') return parts.describeState()
    if (command.kind === 'tactical') {
      const given = parts.names?.give(command.name, command.call, `${from} by radio`)
      if (given === undefined) return 'Not done: no event is configured.'
      return given.ok
        ? `${given.name} is ${given.call ?? 'nobody'} now.`
        : `Not done: ${given.reason}.`
    }
    if (command.kind === 'release')
      return hold.end() ? 'Released.' : 'Released, but a restart holds again: the disk fails.'
    const kept = hold.begin(from, command.durationMs)
    const until =
      command.durationMs === undefined ? 'until released' : formatDuration(command.durationMs)
    return `Holding ${until}, a few seconds from now${kept ? '' : ', lost at a restart'}.`
  }

  const service = (keyword: string, usage: string, summary: string): Service => ({
    keyword,
    usage,
    summary,
    takes: 'text',
    isFor: (from) => parts.isEnrolled(baseCall(from)),
    answer({ from, text }, { rehearsal }) {
      const message = parseControlMessage(text)
      if (message === undefined) return `Send ${usage}`
      if (rehearsal) return '(only shown: a code is not tried here)'
      return judge(from, baseCall(from), message)
    },
  })

  return [
    service('hold', 'hold [30m] CODE', 'The station stops sending, for a time or until released'),
    service('release', 'release CODE', "Ends the control operator's hold"),
    service('state', 'state CODE', 'Airtime used, frames that wait, holds'),
    ...(parts.names === undefined
      ? []
      : [
          service(
            'tactical',
            'tactical NAME CALL CODE',
            'A tactical name is held by CALL from now on',
          ),
        ]),
  ]
}

function baseCall(from: string): string {
  const address = parseAddress(from)
  return address.ok ? address.value.call : ''
}

function formatDuration(durationMs: number): string {
  const minutes = Math.round(durationMs / 60_000)
  if (minutes % 1440 === 0) return `${minutes / 1440} d`
  return minutes % 60 === 0 ? `${minutes / 60} h` : `${minutes} min`
}
