import { callSignProblem } from '../regulations/callSign.js'
import { Failure } from '../runtime/failure.js'
import { createContentPlan } from './contentPlan.js'
import { contentDurationMs } from './transmissionAudio.js'
import type { TransmitOptions } from './transmitOptions.js'

/**
 * A station that may send must be able to say who it is within its own limits.
 * @throws Failure 'identification-too-long' when an identification fits neither the time-out timer nor a duty limit
 */
export function checkIdentificationFits(
  transmit: TransmitOptions,
  timing: { readonly keyOverheadMs: number; readonly unkeyMarginMs: number },
): void {
  if (!transmit.enabled || callSignProblem(transmit.call) !== undefined) return
  try {
    createContentPlan({ ...transmit, ...timing, durationMs: contentDurationMs })
  } catch (error) {
    if (!(error instanceof RangeError)) throw error
    throw new Failure({
      code: 'identification-too-long',
      subject: 'transmit',
      got: error.message,
      expected: 'an identification that fits the time-out timer and the duty limits',
      advice:
        'raise transmit.timeOutMs, dutyPercent or morse.wordsPerMinute, or lower keyDelayMs, tailMs and the hang of the radio (ptt.hangMs)',
      cause: error,
    })
  }
}
