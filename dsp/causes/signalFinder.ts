// Signals that the receiver told nothing of: so far off tune that it did not follow them, or without a flag at either end. Looks
// for the coherence that carrier detect goes by (modem/sequence/lineMetric.ts), with tones up to 600 Hz off. It takes several
// times what the receiver does for carrier detect, and so is for those who ask why.
import { createFrontEnd, workingRateHz } from '../modem/frontEnd/frontEnd.js'
import { createSymbolStream } from '../modem/sequence/symbols.js'
import { createToneCorrelations } from '../modem/sequence/toneCorrelations.js'

export interface FoundSignal {
  /** input samples since the finder was made */
  readonly firstSample: number
  readonly lastSample: number
}

export interface SignalFinder {
  /** @param block mono, full scale ±1 */
  push(block: Float32Array): FoundSignal[]
  finish(): FoundSignal[]
}

const shiftSteps = [-3, -2, -1, 0, 1, 2, 3] as const
/** Coherence of a signal, over some thirty symbols; noise has 0.44 and seldom 0.5, a signal at 5 dB Eb/N0 0.65. */
const coherenceMin = 0.6
const averaging = 1 / 24
/** Shorter ones hold no frame: 17 octets take 113 ms. */
const shortestSamples = 0.12 * workingRateHz
/** A signal that comes back within this time was only disturbed. */
const apartSamples = 0.1 * workingRateHz
/** The average is so late. */
const lateSamples = 0.02 * workingRateHz
/** And cells are told of some 3 ms behind the audio. */
const cellSamples = 10
const longestSamples = 8 * workingRateHz

export function createSignalFinder(sampleRateHz: number): SignalFinder {
  const frontEnd = createFrontEnd(sampleRateHz)
  const toInput = sampleRateHz / workingRateHz
  const found: FoundSignal[] = []
  let [first, last] = [-1, -1]

  const end = (): void => {
    if (first >= 0 && last - first >= shortestSamples)
      found.push({
        firstSample: Math.max(0, Math.round((first - lateSamples) * toInput)),
        lastSample: Math.round(last * toInput),
      })
    first = -1
  }
  const note = (at: number): void => {
    if (first >= 0 && (at - last > apartSamples || at - first > longestSamples)) end()
    if (first < 0) first = at
    last = Math.max(last, at)
  }
  const listeners = shiftSteps.map((steps) => {
    const correlations = createToneCorrelations(steps)
    let mean = 0
    let cells = 0
    const symbols = createSymbolStream(correlations, ({ coherence }) => {
      mean += (coherence - mean) * averaging
      cells++
      if (mean > coherenceMin) note(cells * cellSamples)
    })
    return (samples: Float32Array): void => {
      correlations.append(samples)
      symbols.advance()
    }
  })
  const take = (working: Float32Array): FoundSignal[] => {
    for (let at = 0; at < working.length; at += chunkSamples)
      for (const listen of listeners) listen(working.subarray(at, at + chunkSamples))
    return found.splice(0)
  }
  return {
    push: (block) => take(frontEnd.process(block)),
    finish() {
      const before = take(frontEnd.flush())
      const rest = take(new Float32Array(2 * chunkSamples))
      end()
      return [...before, ...rest, ...found.splice(0)]
    },
  }
}

/** As the detector takes them: what the parts remember is meant for no more. */
const chunkSamples = 320
