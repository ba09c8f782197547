import { createCodeCheck } from '../control/codeCheck.js'
import { readControlFile, secretBook, writeControlFile } from '../control/controlFile.js'
import { createStationHold } from '../control/stationHold.js'
import { blockedWords } from '../node/holdWords.js'
import type { RadioPort } from '../radio/radioPort.js'
import type { Clock } from '../runtime/clock.js'
import type { ClockTrust } from '../runtime/clockTrust.js'
import { errorText } from '../runtime/errorText.js'
import { controlServices } from '../services/control.js'
import type { TacticalNames } from '../services/event/tacticalNames.js'
import type { Service } from '../services/service.js'
import type { Wording } from '../words/air/wording.js'

export interface OpenControlOptions {
  /** absolute */
  readonly file: string
  readonly window: number
  readonly clock: Clock
  readonly clockTrust: ClockTrust
  readonly ports: readonly Pick<RadioPort, 'hold' | 'release' | 'state'>[]
  /** of an event; absent where none is configured */
  readonly names?: Pick<TacticalNames, 'give'> | undefined
  /** a command, and what became of it */
  readonly onCommand: (text: string) => void
  readonly onFault: (text: string) => void
}

export interface OpenControl {
  readonly services: readonly Service[]
  close(): void
}

/** The source under which the control operator holds. */
const holdSource = 'control operator'

/**
 * Control by radio out of its file. A hold that was kept there is set at once.
 * @throws Failure 'control-file' for one that cannot be read: a station that is to be stopped by radio does not start without
 */
export function openControl(options: OpenControlOptions): OpenControl {
  const { file, clock, clockTrust, ports } = options
  const { hold: kept } = readControlFile(file)
  const book = secretBook(file, (failure) => options.onFault(failure.message))
  const hold = createStationHold({
    clock,
    kept,
    hold: (reason) => {
      for (const port of ports) port.hold(holdSource, reason)
    },
    release: () => {
      for (const port of ports) port.release(holdSource)
    },
    keep: (wanted) => {
      try {
        writeControlFile(file, { ...readControlFile(file), hold: wanted })
        return true
      } catch (error) {
        options.onFault(errorText(error))
        return false
      }
    },
  })
  const check = createCodeCheck({
    book,
    window: options.window,
    trustedWallMs: () => (clockTrust.trusted() ? clock.wallMs() : undefined),
  })
  const services = controlServices({
    clock,
    check,
    hold,
    isEnrolled: (call) => book.of(call).length > 0,
    describeState: (wording) => describeState(ports, wording),
    names: options.names,
    onCommand: options.onCommand,
  })
  return { services, close: () => hold.close() }
}

function describeState(ports: OpenControlOptions['ports'], wording: Wording): string {
  const { say } = wording
  return ports
    .map((port, number) => {
      const state = port.state()
      const { receiving, queuedCount, dutyUsed } = state
      const blocked = blockedWords(state, wording)
      const parts = [
        say('stateDuty', { percent: Math.round(dutyUsed * 100) }),
        say('stateWaiting', { count: queuedCount }),
        ...(receiving ? [] : [say('stateDeaf')]),
        ...(blocked === undefined ? [] : [blocked]),
      ]
      return ports.length === 1 ? parts.join(', ') : `${number}: ${parts.join(', ')}`
    })
    .join('; ')
}
