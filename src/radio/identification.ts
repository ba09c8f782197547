import type { ControllerPast, ControllerState } from './controllerTypes.js'
import type { IdentificationOptions } from './transmitOptions.js'

/** What the rule of 97.119(a) asks: at least every ten minutes during a communication. */
export const identificationLimitMs = 600_000

const triesMax = 2
/** Of the smallest allowance, for all tries together. */
const triesShare = 0.1

/**
 * How many identifications airtime is set aside for: one may fail, when an audio device hangs or a hold cuts it. As long as
 * not all of them fail in a row both rules hold: the call goes out in time, and no window has more airtime than its limit. If
 * they do, the duty limit wins, and the call goes out as soon as that allows it.
 * @param allowanceMs of the duty limit that allows least; Infinity where nothing limits
 * @param onceMs longest time of one
 */
export function triesWithin(allowanceMs: number, onceMs: number): number {
  return Math.max(1, Math.min(triesMax, Math.floor((allowanceMs * triesShare) / onceMs)))
}

/** Keeps account of what went out without our call, and says when the call must follow. */
export interface IdentificationDebt {
  /**
   * @param identified true when our call went out with it, and nothing without it came after
   */
  noteTransmission(span: { fromMs: number; toMs: number }, identified: boolean): void
  /** when an identification should go out; undefined when none is owed */
  dueAtMs(): number | undefined
  /** from when on nothing but the identification may be sent; undefined when none is owed */
  latestAtMs(): number | undefined
  /** start of the first transmission without our call since the call last went out */
  owedSinceMs(): number | undefined
}

/**
 * A communication is a run of transmissions with less than `quietMs` between them. The call must go out by
 * `intervalMs` after the first transmission that did not carry it, and at the end of the communication: once we have been
 * quiet for `quietMs`. A frame whose source field is our call identifies (common practice, no source), so a node that
 * sends only its own frames owes nothing.
 * @param owedSinceMs what an earlier life of the radio left owed
 */
export function createIdentificationDebt(
  options: Pick<IdentificationOptions, 'intervalMs' | 'quietMs'>,
  owedSinceMs?: number,
): IdentificationDebt {
  // Time for the channel to become free, and for the call itself, before the limit of the rule.
  const intervalMs = Math.min(options.intervalMs, identificationLimitMs - 30_000)
  let since = owedSinceMs
  let quietFromMs = owedSinceMs ?? 0
  return {
    noteTransmission(span, identified) {
      quietFromMs = span.toMs
      if (identified) since = undefined
      else since ??= span.fromMs
    },
    dueAtMs: () =>
      since === undefined ? undefined : Math.min(since + intervalMs, quietFromMs + options.quietMs),
    latestAtMs: () => (since === undefined ? undefined : since + intervalMs),
    owedSinceMs: () => since,
  }
}

/**
 * What is said when a radio is closed that could not send the identification it owes: it is owed in its next life, and
 * whoever looks why it was not heard finds the reason.
 * @returns undefined where none is owed
 */
export function owedAtClose(
  controller: { past(): ControllerPast; state(nowMs: number): ControllerState },
  nowMs: number,
): string | undefined {
  const { owedSinceMs } = controller.past()
  if (owedSinceMs === undefined) return undefined
  const { holds, channelBusy } = controller.state(nowMs)
  const why =
    holds[0]?.reason ?? (channelBusy ? 'the channel is busy' : 'no time, or no airtime, was left')
  const agoS = Math.round((nowMs - owedSinceMs) / 1000)
  return `the identification owed for ${agoS} s did not go out before the end: ${why}`
}
