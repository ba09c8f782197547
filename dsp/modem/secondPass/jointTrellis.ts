// Tones decided on over several copies at once, with nothing known of their phases: the first pass's trellis (trellis.ts),
// each survivor with a phase reference for each copy. The metrics of the copies, each over its own noise, add up.
import { spaceTurn } from '../sequence/phaseStep.js'

/** Correlations of a run of symbols, as they are kept. */
export interface FloatRun {
  readonly markRe: Float32Array
  readonly markIm: Float32Array
  readonly spaceRe: Float32Array
  readonly spaceIm: Float32Array
}

/** A copy as the trellis reads it: symbol k of all copies is symbol first + k of the copy. */
export interface CopyInTrellis {
  readonly run: FloatRun
  readonly first: number
  /** its mark is the others' space */
  readonly inverted: boolean
  readonly markStep: number
  readonly spaceStep: number
  readonly markAmplitude: number
  readonly spaceAmplitude: number
  readonly variance: number
  /** trust in each symbol, 1 and less */
  readonly weights: Float32Array
}

/** Found by trial for the first pass (trellis.ts); with two copies each has half of the signal, and averages as long. */
const memory = 0.9
const stateCount = 16
const half = stateCount / 2

/** @param tones written for each of the symbols: 1 where the first copy has mark */
export function decideJointly(
  copies: readonly CopyInTrellis[],
  count: number,
  tones: Uint8Array,
): void {
  const width = 2 * copies.length
  let references = new Float64Array(stateCount * width)
  let nextReferences = new Float64Array(stateCount * width)
  let metrics = new Float64Array(stateCount)
  let nextMetrics = new Float64Array(stateCount)
  const choices = new Uint16Array(count)
  const tonesOf = copies.map((copy) => [toneOf(copy, 0), toneOf(copy, 1)] as const)
  /** a C of each copy for the tone at hand, real and imaginary */
  const branch = new Float64Array(width)
  const weights = Float64Array.from(copies, ({ variance }) => 1 / variance)
  for (let k = 0; k < count; k++) {
    let chosen = 0
    for (let tone = 0; tone < 2; tone++) {
      const energy = fillBranch(copies, tonesOf, k, tone, branch)
      for (let p = 0; p < half; p++) {
        const first = metrics[p]! + gain(references, p * width, branch, weights)
        const second = metrics[half + p]! + gain(references, (half + p) * width, branch, weights)
        const from = second > first ? half + p : p
        const state = 2 * p + tone
        if (from !== p) chosen |= 1 << state
        nextMetrics[state] = Math.max(first, second) - energy
        for (let c = 0; c < copies.length; c++) {
          const { cos, sin } = tonesOf[c]![tone]!
          const re = references[from * width + 2 * c]! + branch[2 * c]!
          const im = references[from * width + 2 * c + 1]! + branch[2 * c + 1]!
          nextReferences[state * width + 2 * c] = (re * cos - im * sin) * memory
          nextReferences[state * width + 2 * c + 1] = (re * sin + im * cos) * memory
        }
      }
    }
    choices[k] = chosen
    ;[references, nextReferences] = [nextReferences, references]
    ;[metrics, nextMetrics] = [nextMetrics, metrics]
  }
  let state = metrics.indexOf(Math.max(...metrics))
  for (let k = count - 1; k >= 0; k--) {
    tones[k] = state & 1
    state = (state >> 1) | ((choices[k]! >> state) & 1 ? half : 0)
  }
}

interface Tone {
  readonly cos: number
  readonly sin: number
  readonly amplitude: number
  readonly isMark: boolean
}

function toneOf(copy: CopyInTrellis, tone: number): Tone {
  const isMark = (tone === 1) !== copy.inverted
  const step = isMark ? copy.markStep : copy.spaceStep + spaceTurn
  return {
    ...{ cos: Math.cos(step), sin: Math.sin(step), isMark },
    amplitude: isMark ? copy.markAmplitude : copy.spaceAmplitude,
  }
}

/** @returns half of the branch's energy, over the noise */
function fillBranch(
  copies: readonly CopyInTrellis[],
  tonesOf: readonly (readonly [Tone, Tone])[],
  k: number,
  tone: number,
  branch: Float64Array,
): number {
  let energy = 0
  copies.forEach(({ run, first, weights, variance }, c) => {
    const { amplitude, isMark } = tonesOf[c]![tone as 0 | 1]
    const trust = weights[first + k]!
    branch[2 * c] = trust * amplitude * (isMark ? run.markRe : run.spaceRe)[first + k]!
    branch[2 * c + 1] = trust * amplitude * (isMark ? run.markIm : run.spaceIm)[first + k]!
    energy += (trust * amplitude * amplitude) / (2 * variance)
  })
  return energy
}

/** What a branch adds to a survivor's metric. */
function gain(
  references: Float64Array,
  at: number,
  branch: Float64Array,
  weights: Float64Array,
): number {
  let sum = 0
  for (let c = 0; c < weights.length; c++) {
    const re = references[at + 2 * c]!
    const im = references[at + 2 * c + 1]!
    const x = re + branch[2 * c]!
    const y = im + branch[2 * c + 1]!
    sum += weights[c]! * (Math.sqrt(x * x + y * y) - Math.sqrt(re * re + im * im))
  }
  return sum
}
