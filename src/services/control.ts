import { parseAddress } from '../ax25/address.js'
import type { CodeCheck } from '../control/codeCheck.js'
import { type ControlMessage, parseControlMessage } from '../control/controlCommand.js'
import type { StationHold } from '../control/stationHold.js'
import type { Clock } from '../runtime/clock.js'
import type { Wording } from '../words/air/wording.js'
import { namesMax, type TacticalNames } from './event/tacticalNames.js'
import type { Service } from './service.js'
import { usageOf, wordingOf } from './wordingOf.js'

export interface ControlServicesParts {
  readonly clock: Clock
  readonly check: CodeCheck
  readonly hold: StationHold
  /** a call without SSID that may send commands */
  readonly isEnrolled: (call: string) => boolean
  /** the station in a few words: duty used, frames that wait, holds */
  readonly describeState: (wording: Wording) => string
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

  const judge = (
    from: string,
    call: string,
    { command, code }: ControlMessage,
    wording: Wording,
  ): string => {
    const { say } = wording
    if (code === undefined) {
      const isName = command.kind === 'tactical'
      return say('controlNoCode', {
        usual: isName ? withoutCode(say('usageTactical')) : command.kind,
      })
    }
    const verdict = check.judge(call, code, command.kind === 'hold', clock.monotonicMs())
    parts.onCommand(`${command.kind} from ${from}: ${verdict.ok ? 'done' : verdict.reason}`)
    if (!verdict.ok) return say('controlNot', { reason: say(`code${verdict.why}`) })
    if (command.kind === 'state') return parts.describeState(wording)
    if (command.kind === 'tactical') {
      const given = parts.names?.give(command.name, command.call, `${from} by radio`)
      if (given === undefined) return say('controlNot', { reason: say('controlNoEvent') })
      if (given.ok) {
        const { name, call: holder = say('controlNobody') } = given
        return say('controlHeld', { name, call: holder })
      }
      return say('controlNot', { reason: nameReason(given.why, command, wording) })
    }
    if (command.kind === 'release')
      return say(hold.end() ? 'controlReleased' : 'controlReleasedLost')
    const kept = hold.begin(from, command.durationMs)
    const { durationMs } = command
    const until =
      durationMs === undefined
        ? say('controlUntilReleased')
        : say('controlFor', { span: formatDuration(durationMs, wording) })
    return say(kept ? 'controlHolding' : 'controlHoldingLost', { until })
  }

  const service = (keyword: string, usage: string, summary: string): Service => ({
    keyword,
    usage,
    summary,
    takes: 'text',
    isFor: (from) => parts.isEnrolled(baseCall(from)),
    // Others may send under this call, and use up what it may ask and what the station may send.
    isUrgent(from, text) {
      const { command, code } = parseControlMessage(text) ?? {}
      return command?.kind === 'hold' && code !== undefined && check.isGood(baseCall(from), code)
    },
    answer({ from, text }, context) {
      const message = parseControlMessage(text)
      const wording = wordingOf(context)
      if (message === undefined)
        return wording.say('controlSend', { usage: usageOf(this, wording) })
      if (context.rehearsal) return wording.say('controlShown')
      return judge(from, baseCall(from), message, wording)
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

/** 'tactical NAME CALL CODE' to 'tactical NAME CALL' */
const withoutCode = (usage: string): string => usage.replace(/ \S+$/, '')

function baseCall(from: string): string {
  const address = parseAddress(from)
  return address.ok ? address.value.call : ''
}

function nameReason(
  why: 'Bad' | 'NoCall' | 'Many' | 'Disk',
  { name, call }: { readonly name: string; readonly call: string },
  { say }: Wording,
): string {
  if (why === 'Bad') return say('nameBad', { word: name.slice(0, 12) })
  if (why === 'NoCall') return say('nameNoCall', { word: call.slice(0, 12) })
  return why === 'Many' ? say('nameMany', { count: namesMax }) : say('nameDisk')
}

function formatDuration(durationMs: number, { say }: Wording): string {
  const minutes = Math.round(durationMs / 60_000)
  if (minutes % 1440 === 0) return say('days', { count: minutes / 1440 })
  return minutes % 60 === 0
    ? say('hours', { count: minutes / 60 })
    : say('minutes', { count: minutes })
}
