// Is the channel busy? A signal of 9600 bit/s shows in the coherence of its band edges (bandEdge.ts). At 10 dB Eb/N0 it is busy 9.6 ms
// after a transmission begins and free 8.1 ms after it ends (medians of 60; nine tenths within 11.1 and 11.7 ms), and lost in between
// for 0.08 % of the time; white noise is busy for 0.06 % of the time (1.2 h of it).

export interface BasebandCarrier {
  /** @param coherence of the last 10 ms, 0 to 1 */
  note(samples: Float32Array, coherence: number): void
  readonly busy: boolean
}

/** Busy from the first of these on, free again below the second: found by trial on noise and on noisy preambles. */
const coherenceOn = 0.55
const coherenceOff = 0.38

/** How many times the power of the quietest that was heard lately counts as a signal, where any signal does. */
const anySignalRatio = 4
/** Blocks that the power looks back on. */
const powerBlocks = 3

export function createBasebandCarrier(onAnySignal: boolean): BasebandCarrier {
  let power = 0
  let blocks = 0
  let floor = Number.POSITIVE_INFINITY
  let bitsHeard = false
  return {
    note(samples, coherence) {
      bitsHeard = coherence > (bitsHeard ? coherenceOff : coherenceOn)
      if (!onAnySignal || samples.length === 0) return
      let sum = 0
      for (let index = 0; index < samples.length; index++) sum += samples[index]! * samples[index]!
      blocks = Math.min(blocks + 1, powerBlocks)
      power += (sum / samples.length - power) / blocks
      // The first one may be the beginning of a filter: no floor.
      if (blocks < powerBlocks) return
      // Follows a falling level at once and a rising one within half a minute.
      floor = Math.min(power, floor * (1 + samples.length / 1_440_000) + 1e-12)
    },
    get busy() {
      return bitsHeard || (onAnySignal && power > anySignalRatio * floor)
    },
  }
}
