// Phase-continuous audio frequency-shift keying with the tones of Bell 202: mark (level 1) 1200 Hz, space (level 0) 2200 Hz.

export const markHz = 1200
export const spaceHz = 2200
export const symbolRateHz = 1200

export interface ModulatorOptions {
  readonly sampleRateHz: number
  /** amplitude of the stronger tone, 0 to 1 of full scale */
  readonly peakLevel: number
  /** space over mark, dB */
  readonly toneBalanceDb?: number
  /** symbol rate over 1200 baud, parts per million */
  readonly symbolRateErrorPpm?: number
  /** added to both tones, Hz */
  readonly toneOffsetHz?: number
  /** added to the space tone alone, Hz */
  readonly toneSpacingErrorHz?: number
}

/**
 * Line levels as audio.
 * The bit clock is a fraction of the sample clock and never rounded: 1200 bits last exactly sampleRateHz samples.
 * A sample that a tone change falls into gets its share of both tones' phase, so the waveform is that of a sampled
 * continuous-time modulator.
 * @param levels one a symbol: 1 mark, 0 space
 * @returns samples from the start of the first symbol to the end of the last
 * @throws RangeError for a rate below 8000 Hz or a tone at or above half of it
 */
export function modulateLevels(levels: Uint8Array, options: ModulatorOptions): Float32Array {
  const { sampleRateHz, peakLevel, toneOffsetHz = 0, toneSpacingErrorHz = 0 } = options
  const tonesHz = [spaceHz + toneOffsetHz + toneSpacingErrorHz, markHz + toneOffsetHz] as const
  checkRates(sampleRateHz, tonesHz)
  const steps = [phaseStep(tonesHz[0], sampleRateHz), phaseStep(tonesHz[1], sampleRateHz)] as const
  const amplitudes = toneAmplitudes(peakLevel, options.toneBalanceDb ?? 0)
  const symbolHz = symbolRateHz * (1 + (options.symbolRateErrorPpm ?? 0) * 1e-6)
  const samples = new Float32Array(sampleCount(levels.length, sampleRateHz, symbolHz))

  // Phase at the sample times, in 2^-32 turns.
  let phase = 0
  let symbol = 0
  let symbolEnd = sampleRateHz / symbolHz
  for (let index = 0; index < samples.length; index++) {
    samples[index] = amplitudes[levels[symbol]!]! * Math.sin(phase * radiansPerStep)
    let from = index
    let advance = 0
    while (symbolEnd <= index + 1 && symbol + 1 < levels.length) {
      advance += (symbolEnd - from) * steps[levels[symbol]!]!
      from = symbolEnd
      symbol++
      symbolEnd = ((symbol + 1) * sampleRateHz) / symbolHz
    }
    advance += (index + 1 - from) * steps[levels[symbol]!]!
    phase = (phase + Math.round(advance)) >>> 0
  }
  return samples
}

/** Samples that a number of symbols lasts, rounded up. */
export function sampleCount(
  symbolCount: number,
  sampleRateHz: number,
  symbolHz = symbolRateHz,
): number {
  return Math.ceil((symbolCount * sampleRateHz) / symbolHz)
}

/** Phase step of a 32-bit numerically controlled oscillator, in 2^-32 turns a sample. */
export function phaseStep(toneHz: number, sampleRateHz: number): number {
  return Math.round((toneHz / sampleRateHz) * 2 ** 32)
}

const radiansPerStep = (2 * Math.PI) / 2 ** 32

/** Peak over root mean square, linear: half of the time each tone, each with half of its amplitude squared. */
export function tonePeakOverRms(toneBalanceDb: number): number {
  const weaker = 10 ** (-Math.abs(toneBalanceDb) / 20)
  return Math.sqrt(4 / (1 + weaker ** 2))
}

/** Indexed by level. */
function toneAmplitudes(peakLevel: number, toneBalanceDb: number): readonly [number, number] {
  const weaker = peakLevel * 10 ** (-Math.abs(toneBalanceDb) / 20)
  return toneBalanceDb >= 0 ? [peakLevel, weaker] : [weaker, peakLevel]
}

function checkRates(sampleRateHz: number, tonesHz: readonly number[]): void {
  if (!(sampleRateHz >= 8000))
    throw new RangeError(`modulator: got ${sampleRateHz} Hz, expected a sample rate from 8000 Hz`)
  if (!tonesHz.every((toneHz) => toneHz > 0 && toneHz < sampleRateHz / 2))
    throw new RangeError(`modulator: tones of ${tonesHz.join(' and ')} Hz leave the audio band`)
}
