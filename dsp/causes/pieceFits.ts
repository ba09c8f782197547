// The signal fitted piece by piece, with the tones that the first pass decided on: how strong each tone is, how much noise there
// is, and what the fit leaves. Pieces are short, so that what happens in one does not spoil the others.
import { bandPassReach } from '../modem/frontEnd/bandPass.js'
import { workingRateHz } from '../modem/frontEnd/frontEnd.js'
import { markHz, spaceHz, symbolRateHz } from '../modem/modulator.js'
import { type FitMemory, fitMemoryFor, fitSignal } from '../modem/quality/signalFit.js'
import { blockSymbols } from '../modem/sequence/phaseStep.js'
import { powerDb } from '../numbers/power.js'
import { tonePower } from './audioSigns.js'
import type { SymbolView } from './symbolView.js'

/** Symbols of one piece: what signalFit.ts fits at once. */
const pieceSymbols = 24
/** And samples: 20 ms. */
export const pieceSamples = 240

export interface Piece {
  readonly firstSymbol: number
  readonly startSample: number
  readonly samplesPerSymbol: number
  readonly markPower: number
  readonly spacePower: number
  readonly signalPower: number
  readonly ebN0Db: number
  /** how much of the phase from symbol to symbol fits a signal, 0 to 1; noise stays below 0.42 */
  readonly coherence: number
  /** of what stands beside the band of the tones, per Hz: a second signal has little there, noise as much as elsewhere */
  readonly besideDensity: number
}

export interface PieceFits {
  readonly pieces: readonly Piece[]
  /** what was fitted, and what that leaves of the audio; samples as the audio's */
  readonly fitted: Float32Array
  readonly residual: Float32Array
}

/**
 * @param working audio behind the front end, of which the view was made
 * @param fromSample pieces that lie between these are fitted; all of them unless given
 */
export function fitPieces(
  working: Float32Array,
  view: SymbolView,
  fromSample = Number.NEGATIVE_INFINITY,
  toSample = Number.POSITIVE_INFINITY,
): PieceFits {
  const fitted = new Float32Array(working.length)
  const residual = new Float32Array(working.length)
  const pieces: Piece[] = []
  const state: { memory: FitMemory | undefined } = { memory: undefined }
  for (let first = 0; first + pieceSymbols <= view.count; first += pieceSymbols) {
    const place = placeOf(view, first)
    if (place.startSample + 12 * place.samplesPerSymbol < fromSample) continue
    if (place.startSample + 12 * place.samplesPerSymbol >= toSample) break
    const from = Math.max(0, Math.floor(place.startSample) - bandPassReach)
    const to = Math.min(
      working.length,
      Math.ceil(place.startSample + pieceSymbols * place.samplesPerSymbol) + bandPassReach,
    )
    const wide = working.subarray(from, to)
    state.memory = fitMemoryFor(wide.length, pieceSymbols, state.memory)
    const fit = fitSignal(
      wide,
      view.tones.subarray(first, first + pieceSymbols),
      { ...place, startSample: place.startSample - from },
      tonesAt(view, first),
      state.memory,
    )
    for (let n = bandPassReach; n < wide.length - bandPassReach; n++) {
      const left = state.memory.residual[bandPassReach + n]!
      residual[from + n] = left
      fitted[from + n] = wide[n]! - left
    }
    const { markPower, spacePower, signalPower, noiseDensity } = fit
    pieces.push({
      ...{ firstSymbol: first, ...place, markPower, spacePower, signalPower },
      ebN0Db:
        signalPower > silentPower ? powerDb(signalPower / symbolRateHz / noiseDensity) : silentDb,
      coherence: view.blocks[Math.floor((first + pieceSymbols / 2) / blockSymbols)]!.coherence,
      besideDensity: besideDensity(wide.subarray(bandPassReach, wide.length - bandPassReach)),
    })
  }
  return { pieces, fitted, residual }
}

/** What the fit makes of nothing at all, and what is told of it. */
const silentPower = 1e-14
export const silentDb = -100

/** Below and above what the tones and their first side lobes take. */
const besideHz = [500, 600, 700, 2700, 2800, 2900]

/** A Hann window is as wide as 1.5 turns over all of the samples. */
function besideDensity(samples: Float32Array): number {
  const widthHz = (1.5 * workingRateHz) / Math.max(1, samples.length)
  const powers = besideHz.map((hz) => tonePower(samples, hz, workingRateHz))
  return powers.reduce((sum, power) => sum + power, 0) / powers.length / widthHz + 1e-18
}

/** The moment of its middle, working samples. */
export const middleOf = ({ startSample, samplesPerSymbol }: Piece): number =>
  startSample + (pieceSymbols / 2) * samplesPerSymbol

/** Symbols of one piece may belong to two estimates of the timing: the one in its middle holds. */
function placeOf({ startSample }: SymbolView, first: number) {
  const middle = first + pieceSymbols / 2
  const length = startSample[middle + 1]! - startSample[middle]!
  const samplesPerSymbol = Math.min(10.5, Math.max(9.5, length))
  return {
    startSample: startSample[middle]! - (pieceSymbols / 2) * samplesPerSymbol,
    samplesPerSymbol,
  }
}

/** Frequencies that the phase steps stand for: a turn more in a symbol is 1200 Hz more. */
export function tonesAt(
  { blocks, shiftSteps }: SymbolView,
  symbol: number,
): { markHz: number; spaceHz: number } {
  const { markStep, spaceStep } = blocks[Math.floor(symbol / blockSymbols)]!
  const perRadian = symbolRateHz / (2 * Math.PI)
  return {
    markHz: markHz + shiftHz * shiftSteps + markStep * perRadian,
    spaceHz: spaceHz + shiftHz * shiftSteps + spaceStep * perRadian,
  }
}

/** One step of the tone correlations. */
export const shiftHz = 200
