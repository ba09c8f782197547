// Is the channel busy? A modem signal shows in the contrast between the tones' powers: at the right timing phase nearly all of
// a symbol's power lies in one tone, symbol after symbol; of noise about half does.
import { samplesPerSymbol, type TonePowers } from './correlatorBank.js'

export interface CarrierDetect {
  process(powers: TonePowers): void
  readonly busy: boolean
}

export interface CarrierDetectOptions {
  /** count any signal 6 dB above the quietest that was heard lately */
  readonly onAnySignal: boolean
}

/** Busy from the first of these on, free again from the second: found by trial on noise and on noisy preambles. */
const contrastOn = 0.72
const contrastOff = 0.62
/** Symbols that the averages look back on. */
const memorySymbols = 16
const anySignalRatio = 4
/**
 * Below a tone of -100 dBFS (the window holds ten samples, so power is 25 times its amplitude squared) there is only the
 * rounding of sliding sums, whose contrast is high and stays.
 */
const silentPower = 25e-10

export function createCarrierDetect(options: CarrierDetectOptions): CarrierDetect {
  const averages = new Float64Array(samplesPerSymbol).fill(0.5)
  const weight = 1 / memorySymbols
  let phase = 0
  let power = 0
  let floor = Number.POSITIVE_INFINITY
  let modemHeard = false
  return {
    process({ mark, space }) {
      for (let index = 0; index < mark.length; index++) {
        const sum = mark[index]! + space[index]!
        const contrast = sum > silentPower ? Math.abs(mark[index]! - space[index]!) / sum : 0
        averages[phase]! += weight * (contrast - averages[phase]!)
        if (++phase === samplesPerSymbol) {
          phase = 0
          power += weight * (sum - power)
          // Follows a falling level at once and a rising one within half a minute.
          floor = Math.min(power, floor * (1 + 1 / 36_000) + 1e-12)
          let best = 0
          for (let at = 0; at < samplesPerSymbol; at++) best = Math.max(best, averages[at]!)
          modemHeard = best > (modemHeard ? contrastOff : contrastOn)
        }
      }
    },
    get busy() {
      return modemHeard || (options.onAnySignal && power > anySignalRatio * floor)
    },
  }
}
