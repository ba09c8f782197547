// What the first pass of the sequence detector makes of a stretch of audio, symbol by symbol: for looking at it afterwards.
import {
  type BlockEstimate,
  blockSymbols,
  createPhaseStepEstimator,
} from '../modem/sequence/phaseStep.js'
import { createSymbolStream, symbolMask } from '../modem/sequence/symbols.js'
import { createToneCorrelations } from '../modem/sequence/toneCorrelations.js'
import { createSequenceTrellis } from '../modem/sequence/trellis.js'

export interface SymbolView {
  /** tones lie so many times 200 Hz higher than they should */
  readonly shiftSteps: number
  readonly count: number
  /** where each symbol begins, working samples */
  readonly startSample: Float64Array
  /** tones decided on, 1 mark */
  readonly tones: Uint8Array
  /** for each 32 symbols */
  readonly blocks: readonly Readonly<BlockEstimate>[]
  readonly line: TimingLine
}

/** The line at the symbol rate by which the timing is found, for each ten samples: its phase is the timing. Of length 1 at most. */
export interface TimingLine {
  readonly re: Float32Array
  readonly im: Float32Array
}

/** @param working audio at the working rate, behind the front end */
export function viewSymbols(working: Float32Array, shiftSteps: number): SymbolView {
  const correlations = createToneCorrelations(shiftSteps)
  const line = emptyLine(Math.ceil((working.length + lateSamples) / cellSamples))
  let cells = 0
  const symbols = createSymbolStream(correlations, ({ re, im, level }) => {
    line.re[cells] = level > 0 ? re / level : 0
    line.im[cells] = level > 0 ? im / level : 0
    cells++
  })
  const steps = createPhaseStepEstimator(symbols)
  const trellis = createSequenceTrellis()
  const capacity = Math.ceil((working.length + lateSamples) / 9) + blockSymbols
  const startSample = new Float64Array(capacity)
  const tones = new Uint8Array(capacity)
  const decided = new Uint8Array(blockSymbols)
  const blocks: BlockEstimate[] = []
  const take = (samples: Float32Array): void => {
    correlations.append(samples)
    symbols.advance()
    steps.advance()
    while (steps.blocks > blocks.length) {
      const estimate = { ...nothing }
      const block = blocks.length
      steps.estimate(block, estimate)
      trellis.step(symbols.run, block * blockSymbols, estimate, decided)
      const first = block * blockSymbols
      for (let k = first; k < first + blockSymbols; k++)
        startSample[k] = symbols.run.startSample[k & symbolMask]!
      if (block > 0) tones.set(decided, first - blockSymbols)
      blocks.push(estimate)
    }
  }
  for (let at = 0; at < working.length; at += chunkSamples)
    take(working.subarray(at, at + chunkSamples))
  for (let at = 0; at < lateSamples; at += chunkSamples) take(new Float32Array(chunkSamples))
  // The last block was not decided on.
  const most = Math.max(0, blocks.length - 1) * blockSymbols
  let count = 0
  while (count < most && startSample[count]! + 10 <= working.length) count++
  return { shiftSteps, count, startSample, tones, blocks, line }
}

/** As the detector takes them; and what windows look ahead. */
const chunkSamples = 320
const lateSamples = 6000

/** Samples of one entry of the line. */
export const cellSamples = 10

const emptyLine = (cells: number): TimingLine => ({
  re: new Float32Array(cells),
  im: new Float32Array(cells),
})

const nothing: Readonly<BlockEstimate> = {
  ...{ markStep: 0, spaceStep: 0, markAmplitude: 0, spaceAmplitude: 0 },
  ...{ coherence: 0, presence: 0 },
}

/** Ends (exclusive) of the flags that the tones hold, symbol numbers: a zero, six ones and a zero after NRZI. */
export function flagEndsIn({ tones, count }: SymbolView): Set<number> {
  const ends = new Set<number>()
  let ones = 0
  for (let k = 1; k < count; k++) {
    if (tones[k] === tones[k - 1]) ones++
    else {
      if (ones === 6) ends.add(k + 1)
      ones = 0
    }
  }
  return ends
}
