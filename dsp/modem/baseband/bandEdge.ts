// Bit timing out of the band about half the bit rate. There the signal's two sidebands meet: what is left of it about 4800 Hz is
// a wave whose height changes and whose phase does not, cos(2 pi 4800 (t - tau)) up to its sign. So, shifted down by 4800 Hz,
//     z(t)^2 ~ exp(-2 pi j 9600 tau):   the phase of its mean is the timing, and |mean z^2| / mean |z|^2 tells signal from noise,
// for which it is near 0. Scrambled bits keep it going; what lies about 0 Hz, such as an offset, does not touch it.
// Source: on timing at the band edges, L. E. Franks and J. P. Bubrouski, Statistical Properties of Timing Jitter in a PAM Timing
// Recovery Scheme, IEEE Trans. Commun. 22, 1974; J. G. Proakis, Digital Communications (both from memory).

import { basebandBitRate } from './pulse.js'

/** Working samples of one bit at 48 kHz. */
export const bitSamples = 5
export const basebandWorkingRateHz = 48_000

/** Bits of time that are summed up before they are weighed against each other. */
export const hopBits = 32
const hopSamples = hopBits * bitSamples
/** Hops that one estimate is made of: 27 ms. */
export const windowHops = 8
const hopCapacity = 64
const hopMask = hopCapacity - 1

/**
 * A low-pass of 1.2 kHz (half of the height), tilted: below 4800 Hz the pulse's spectrum is high and above it low, and only where
 * the two sidebands are alike does the wave keep its phase. (1 + tilt f) makes them so, as far as f is small; the tilt is a little
 * more than the pulse needs, 0.00056 a hertz, for the low-pass of a data port. In time that is h(t) - j (tilt / 2 pi) h'(t).
 */
const smoothingBits = 8
const tilt = 0.0006
const ages = Float64Array.from({ length: smoothingBits }, (_, bit) => smoothingBits - 0.5 - bit)
const smoothing = ages.map((age) => Math.sin((Math.PI * age) / smoothingBits) ** 2)
const tilting = ages.map(
  (age) =>
    (-tilt / (2 * Math.PI)) *
    (Math.PI / smoothingBits) *
    basebandBitRate *
    Math.sin((2 * Math.PI * age) / smoothingBits),
)

/** 4800 Hz, a period of which lasts two bits. */
const cosines = Float64Array.from({ length: 2 * bitSamples }, (_, n) =>
  Math.cos((Math.PI * n) / bitSamples),
)
const sines = Float64Array.from({ length: 2 * bitSamples }, (_, n) =>
  Math.sin((Math.PI * n) / bitSamples),
)

export interface BandEdgeEstimate {
  /** some bit's middle lies here, up to whole bits; working samples */
  startSample: number
  /** how much of the band's power keeps one phase, 0 to 1: noise has 0.2, a signal of 5 dB Eb/N0 0.6 */
  coherence: number
  /** the same of the hop itself and its neighbours, along the phase of all: noise has 0 */
  presence: number
}

export interface BandEdge {
  append(samples: Float32Array): void
  /** hops that are complete */
  readonly hops: number
  /** of the latest hops, for carrier detect: 0 to 1 */
  latestCoherence(): number
  /** The best window that a hop lies in; it needs the seven hops after it. */
  estimate(hop: number, into: BandEdgeEstimate): void
}

export function createBandEdge(): BandEdge {
  const hops = createHops()
  // The sums over the last eight bits, shifted down; twice each, so that eight of them always lie in a row.
  const bitRe = new Float64Array(2 * smoothingBits)
  const bitIm = new Float64Array(2 * smoothingBits)
  /** what the hop at hand has of z^2 (real, imaginary) and |z|^2, and the bit at hand of its two sums */
  const sums = new Float64Array(5)
  let [phase, slot, bitsInHop] = [0, 0, 0]

  const endBit = (lastRe: number, lastIm: number): void => {
    bitRe[slot] = lastRe
    bitRe[slot + smoothingBits] = lastRe
    bitIm[slot] = lastIm
    bitIm[slot + smoothingBits] = lastIm
    slot = (slot + 1) & (smoothingBits - 1)
    let re = 0
    let im = 0
    for (let bit = 0; bit < smoothingBits; bit++) {
      const weight = smoothing[bit]!
      const tilted = tilting[bit]!
      const bitSumRe = bitRe[slot + bit]!
      const bitSumIm = bitIm[slot + bit]!
      re += weight * bitSumRe - tilted * bitSumIm
      im += weight * bitSumIm + tilted * bitSumRe
    }
    sums[0]! += re * re - im * im
    sums[1]! += 2 * re * im
    sums[2]! += re * re + im * im
    if (++bitsInHop < hopBits) return
    const scale = sums[2]! > 0 ? 1 / sums[2]! : 0
    hops.add(sums[0]! * scale, sums[1]! * scale)
    sums[0] = sums[1] = sums[2] = 0
    bitsInHop = 0
  }

  return {
    append(samples) {
      let re = sums[3]!
      let im = sums[4]!
      let at = phase
      for (let index = 0; index < samples.length; index++) {
        const x = samples[index]!
        re += x * cosines[at]!
        im -= x * sines[at]!
        at++
        if (at === bitSamples || at === 2 * bitSamples) {
          endBit(re, im)
          re = 0
          im = 0
          if (at === 2 * bitSamples) at = 0
        }
      }
      phase = at
      sums[3] = re
      sums[4] = im
    },
    get hops() {
      return hops.count
    },
    latestCoherence: hops.latestCoherence,
    estimate: hops.estimate,
  }
}

interface Hops extends Pick<BandEdge, 'latestCoherence' | 'estimate'> {
  /** mean z^2 of the next hop over its mean |z|^2 */
  add(re: number, im: number): void
  readonly count: number
}

/** The latest hops, and the windows of eight that they make. */
function createHops(): Hops {
  const hopRe = new Float64Array(hopCapacity)
  const hopIm = new Float64Array(hopCapacity)
  // Of the eight hops from one on, and their power: known when the last of them is.
  const windowRe = new Float64Array(hopCapacity)
  const windowIm = new Float64Array(hopCapacity)
  const windowPower = new Float64Array(hopCapacity)
  let count = 0

  const sumWindow = (first: number): void => {
    let re = 0
    let im = 0
    for (let hop = Math.max(0, first); hop < first + windowHops; hop++) {
      re += hopRe[hop & hopMask]!
      im += hopIm[hop & hopMask]!
    }
    windowRe[first & hopMask] = re
    windowIm[first & hopMask] = im
    windowPower[first & hopMask] = re * re + im * im
  }

  return {
    get count() {
      return count
    },
    add(re, im) {
      hopRe[count & hopMask] = re
      hopIm[count & hopMask] = im
      count++
      sumWindow(count - windowHops)
    },
    latestCoherence() {
      let re = 0
      let im = 0
      for (let hop = Math.max(0, count - latestHops); hop < count; hop++) {
        re += hopRe[hop & hopMask]!
        im += hopIm[hop & hopMask]!
      }
      return Math.sqrt(re * re + im * im) / latestHops
    },
    estimate(hop, into) {
      let best = hop
      for (let first = Math.max(0, hop - windowHops + 1); first < hop; first++)
        if (windowPower[first & hopMask]! > windowPower[best & hopMask]!) best = first
      const re = windowRe[best & hopMask]!
      const im = windowIm[best & hopMask]!
      const size = Math.sqrt(windowPower[best & hopMask]!)
      let along = 0
      for (let near = Math.max(0, hop - 1); near < hop + 2; near++)
        along += hopRe[near & hopMask]! * re + hopIm[near & hopMask]! * im
      into.coherence = size / windowHops
      into.presence = along / (3 * size + 1e-12)
      const turns = -Math.atan2(im, re) / (2 * Math.PI)
      into.startSample = hop * hopSamples + turns * bitSamples
    },
  }
}

/** Carrier detect looks back on as many: 10 ms. */
const latestHops = 3
