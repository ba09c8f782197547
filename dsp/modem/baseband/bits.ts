// Cuts the audio into bits: at each bit's middle the output of a filter matched to the pulse.
import {
  type BandEdgeEstimate,
  bitSamples,
  createBandEdge,
  hopBits,
  windowHops,
} from './bandEdge.js'
import { pulse } from './pulse.js'

/** Bits and working samples kept: 0.85 s and 1.4 s. Powers of two; entry k is at `k & mask`. */
export const bitCapacity = 2 ** 13
export const bitMask = bitCapacity - 1
const sampleCapacity = 2 ** 16
const sampleMask = sampleCapacity - 1

/** Bits that share one estimate of height and offset. */
export const blockBits = 32
/** The pulse to each side that the filter reaches, samples, and its steps a sample: 1/160 of a bit. */
const reachSamples = 3 * bitSamples
const stepsPerSample = 32
const taps = 2 * reachSamples
/** By fraction of a sample, then by sample. */
const filters = Float64Array.from({ length: (stepsPerSample + 1) * taps }, (_, at) => {
  const [step, tap] = [Math.floor(at / taps), at % taps]
  return pulse((tap - reachSamples + 1 - step / stepsPerSample) / bitSamples) / bitSamples
})

export interface BitStream {
  append(samples: Float32Array): void
  /** middle of each bit, working samples */
  readonly position: Float64Array
  /** filter output at each */
  readonly value: Float32Array
  /** how much of a signal there is in the 27 ms around each bit, and close to it: see bandEdge.ts */
  readonly coherence: Float32Array
  readonly presence: Float32Array
  /** bits cut so far */
  readonly count: number
  /** filter output anywhere in the last 1.3 s */
  filtered(position: number): number
  /** mean power of the audio itself without its mean, from one sample to another, which are kept for 1.3 s */
  power(from: number, to: number): number
  latestCoherence(): number
}

export function createBitStream(): BitStream {
  const ring = new Float32Array(sampleCapacity)
  const bandEdge = createBandEdge()
  const position = new Float64Array(bitCapacity)
  const value = new Float32Array(bitCapacity)
  const coherence = new Float32Array(bitCapacity)
  const presence = new Float32Array(bitCapacity)
  const estimate: BandEdgeEstimate = { startSample: 0, coherence: 0, presence: 0 }
  let [samplesSeen, count, hop, last] = [0, 0, 0, 0]

  const filtered = (at: number): number => {
    const steps = Math.round(at * stepsPerSample)
    const whole = Math.floor(steps / stepsPerSample)
    let tap = (steps - whole * stepsPerSample) * taps
    const end = tap + taps
    let from = whole - reachSamples + 1
    let sum = 0
    for (; tap < end; tap++) sum += filters[tap]! * ring[from++ & sampleMask]!
    return sum
  }

  const cutHop = (): void => {
    bandEdge.estimate(hop, estimate)
    const end = (hop + 1) * hopBits * bitSamples
    const grid = estimate.startSample
    let next = grid + bitSamples * Math.round((last + bitSamples - grid) / bitSamples)
    // Between bursts the grid jumps: never closer to the last bit than half a bit.
    if (next < last + 0.55 * bitSamples) next += bitSamples
    for (; next < end; next += bitSamples) {
      const at = count & bitMask
      position[at] = next
      value[at] = estimate.coherence < noiseCoherence ? 0 : filtered(next)
      coherence[at] = estimate.coherence
      presence[at] = estimate.presence
      last = next
      count++
    }
    hop++
  }

  return {
    ...{ position, value, coherence, presence },
    append(samples) {
      const at = samplesSeen & sampleMask
      const first = Math.min(samples.length, sampleCapacity - at)
      ring.set(samples.subarray(0, first), at)
      ring.set(samples.subarray(first), 0)
      samplesSeen += samples.length
      bandEdge.append(samples)
      while (bandEdge.hops >= hop + windowHops) cutHop()
    },
    get count() {
      return count
    },
    filtered,
    power(from, to) {
      let sum = 0
      let squares = 0
      for (let index = from; index < to; index++) {
        const x = ring[index & sampleMask]!
        sum += x
        squares += x * x
      }
      const count = Math.max(1, to - from)
      return squares / count - (sum / count) ** 2
    },
    latestCoherence: () => bandEdge.latestCoherence(),
  }
}

/** Below it there is nothing to decide: nine tenths of noise. */
export const noiseCoherence = 0.28
