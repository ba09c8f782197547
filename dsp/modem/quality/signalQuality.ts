// What the audio of a frame tells about its signal, once the frame's octets are known: data-aided estimates.
// The frame is modulated anew, tone by tone, and fitted to what was heard; the rest is noise.
// Method: least squares, S. M. Kay, Fundamentals of Statistical Signal Processing: Estimation Theory.
import { encodeHdlc } from '../../framing/hdlcEncoder.js'
import { encodeNrzi } from '../../framing/nrzi.js'
import { meanPower, powerDb } from '../../numbers/power.js'
import { workingRateHz } from '../frontEnd/frontEnd.js'
import { markHz, spaceHz, symbolRateHz } from '../modulator.js'
import type { SignalQuality } from '../receivedFrame.js'
import { type FitMemory, fitMemoryFor, fitSignal, type SignalFit } from './signalFit.js'
import {
  correlateSymbols,
  type SymbolTiming,
  type ToneFrequencies,
  type ToneSums,
  toneSums,
  windowPower,
} from './symbolCorrelation.js'
import { estimateTiming, refineTiming, type TonePair } from './timingEstimate.js'
import { estimateTones } from './toneEstimate.js'

/** Working samples that must be known before a frame's start and after its end. */
export const qualityMargin = 40

export interface MeasuredSignal {
  readonly quality: Omit<SignalQuality, 'clippedShare' | 'preambleFlags' | 'bitRate'>
  /** start of the opening flag, working samples from the start of the audio given */
  readonly startSample: number
  /** end of the closing flag, likewise */
  readonly endSample: number
}

export interface SignalMeter {
  /**
   * @param wide audio at the working rate, from qualityMargin before the frame to qualityMargin after it
   * @param octets the frame, without FCS
   * @param heard its line levels where they are not those of a frame between two flags
   */
  measure(wide: Float32Array, octets: Uint8Array, heard?: Uint8Array): MeasuredSignal
}

export function createSignalMeter(): SignalMeter {
  // Large arrays that every frame needs again.
  let sums: Partial<TonePair> = {}
  let memory: FitMemory | undefined
  return {
    measure(wide, octets, heard) {
      const levels = heard ?? frameLevels(octets)
      const guess = {
        startSample: qualityMargin,
        samplesPerSymbol: (wide.length - 2 * qualityMargin) / levels.length,
      }
      const nominal = {
        mark: toneSums(wide, markHz, sums.mark),
        space: toneSums(wide, spaceHz, sums.space),
      }
      const coarse = estimateTiming(nominal, levels, guess)
      const tones = estimateTones(
        correlateSymbols(nominal.mark, nominal.space, levels, coarse),
        levels,
        coarse,
      )
      const exact = {
        mark: retuned(nominal.mark, wide, tones.markHz),
        space: retuned(nominal.space, wide, tones.spaceHz),
      }
      sums = exact
      const timing = refineTiming(exact, levels, coarse)
      memory = fitMemoryFor(wide.length, levels.length, memory)
      const fit = fitSignal(wide, levels, timing, tones, memory)
      return figures(wide, levels, timing, tones, exact, fit)
    },
  }
}

function figures(
  wide: Float32Array,
  levels: Uint8Array,
  timing: SymbolTiming,
  tones: ToneFrequencies,
  sums: TonePair,
  fit: SignalFit,
): MeasuredSignal {
  const first = Math.max(0, Math.round(timing.startSample))
  const last = Math.min(
    wide.length,
    Math.round(timing.startSample + levels.length * timing.samplesPerSymbol),
  )
  return {
    startSample: timing.startSample,
    endSample: timing.startSample + levels.length * timing.samplesPerSymbol,
    quality: {
      levelDbfs: powerDb(meanPower(wide.subarray(first, last))),
      toneBalanceDb: powerDb(fit.spacePower) - powerDb(fit.markPower),
      toneOffsetHz: (tones.markHz - markHz + (tones.spaceHz - spaceHz)) / 2,
      symbolRateErrorPpm: (workingRateHz / timing.samplesPerSymbol / symbolRateHz - 1) * 1e6,
      ebN0Db: powerDb(fit.signalPower / symbolRateHz / fit.noiseDensity),
      eyeOpening: eyeOpening(sums, levels, timing, fit),
    },
  }
}

/** Below this, a tone keeps in step with its reference for the 20 ms over which timing adds it up. */
const toneDifferenceHz = 2

/** The nominal tone's sums may be overwritten: nobody needs them any more. */
const retuned = (nominal: ToneSums, wide: Float32Array, toneHz: number): ToneSums =>
  Math.abs(toneHz - nominal.toneHz) < toneDifferenceHz ? nominal : toneSums(wide, toneHz, nominal)

/** Line levels of a frame with one flag at each end, or all of them inverted. */
function frameLevels(octets: Uint8Array): Uint8Array {
  return encodeNrzi(encodeHdlc({ frames: [octets], leadingFlags: 1, trailingFlags: 1 }))
}

/**
 * The contrast of the decision, -1 to 1, that 19 of 20 symbols exceed; 0 when that is a wrong one.
 * Half of the tone imbalance is compensated, as a receiver would.
 */
function eyeOpening(
  tones: TonePair,
  levels: Uint8Array,
  timing: SymbolTiming,
  fit: SignalFit,
): number {
  const weights = [1 / Math.sqrt(fit.spacePower), 1 / Math.sqrt(fit.markPower)] as const
  const contrasts = new Float64Array(levels.length)
  for (let symbol = 0; symbol < levels.length; symbol++) {
    const from = timing.startSample + symbol * timing.samplesPerSymbol
    const to = from + timing.samplesPerSymbol
    const space = weights[0] * windowPower(tones.space, from, to)
    const mark = weights[1] * windowPower(tones.mark, from, to)
    const contrast = mark + space > 0 ? (mark - space) / (mark + space) : 0
    contrasts[symbol] = levels[symbol] === 1 ? contrast : -contrast
  }
  contrasts.sort()
  return Math.max(0, contrasts[Math.floor(contrasts.length / 20)]!)
}
