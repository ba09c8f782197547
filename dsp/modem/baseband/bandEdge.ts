// Bit timing out of the band about half the bit rate. There the signal's two sidebands meet: what is left of it about 4800 Hz is
// a wave whose height changes and whose phase does not, cos(2 pi 4800 (t - tau)) up to its sign. So, shifted down by 4800 Hz,
//     z(t)^2 ~ exp(-2 pi j 9600 tau):   the phase of its mean is the timing, and |mean z^2| / mean |z|^2 tells signal from noise,
// for which it is near 0. Scrambled bits keep it going; what lies about 0 Hz, such as an offset, does not touch it.
// Source: on timing at the band edges, L. E. Franks and J. P. Bubrouski, Statistical Properties of Timing Jitter in a PAM Timing
// Recovery Scheme, IEEE Trans. Commun. 22, 1974; J. G. Proakis, Digital Communications (both from memory).

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

/** A low-pass of 1.2 kHz (half of the height): further out the two sidebands are too unlike each other. */
const smoothingBits = 8
const smoothing = Float64Array.from(
  { length: smoothingBits },
  (_, bit) => Math.sin((Math.PI * (bit + 0.5)) / smoothingBits) ** 2,
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
  const hopRe = new Float64Array(hopCapacity)
  const hopIm = new Float64Array(hopCapacity)
  // The sums over the last eight bits, shifted down; twice each, so that eight of them always lie in a row.
  const bitRe = new Float64Array(2 * smoothingBits)
  const bitIm = new Float64Array(2 * smoothingBits)
  /** what the hop at hand has of z^2 (real, imaginary) and |z|^2, and the bit at hand of its two sums */
  const sums = new Float64Array(5)
  let [phase, slot, bitsInHop, hops] = [0, 0, 0, 0]

  const endHop = (): void => {
    const scale = sums[2]! > 0 ? 1 / sums[2]! : 0
    hopRe[hops & hopMask] = sums[0]! * scale
    hopIm[hops & hopMask] = sums[1]! * scale
    hops++
    sums.fill(0, 0, 3)
    bitsInHop = 0
  }

  const endBit = (bitSumRe: number, bitSumIm: number): void => {
    bitRe[slot] = bitSumRe
    bitRe[slot + smoothingBits] = bitSumRe
    bitIm[slot] = bitSumIm
    bitIm[slot + smoothingBits] = bitSumIm
    slot = (slot + 1) & (smoothingBits - 1)
    let re = 0
    let im = 0
    for (let bit = 0; bit < smoothingBits; bit++) {
      const weight = smoothing[bit]!
      re += weight * bitRe[slot + bit]!
      im += weight * bitIm[slot + bit]!
    }
    sums[0]! += re * re - im * im
    sums[1]! += 2 * re * im
    sums[2]! += re * re + im * im
    if (++bitsInHop === hopBits) endHop()
  }

  const windowSum = (first: number, count: number): readonly [number, number] => {
    let [re, im] = [0, 0]
    for (let hop = Math.max(0, first); hop < first + count; hop++) {
      re += hopRe[hop & hopMask]!
      im += hopIm[hop & hopMask]!
    }
    return [re, im]
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
      return hops
    },
    latestCoherence() {
      const [re, im] = windowSum(hops - latestHops, latestHops)
      return Math.hypot(re, im) / latestHops
    },
    estimate(hop, into) {
      let [bestRe, bestIm, best] = [0, 0, -1]
      for (let first = Math.max(0, hop - windowHops + 1); first <= hop; first++) {
        const [re, im] = windowSum(first, windowHops)
        const size = re * re + im * im
        if (size > best) [bestRe, bestIm, best] = [re, im, size]
      }
      into.coherence = Math.sqrt(best) / windowHops
      const [nearRe, nearIm] = windowSum(hop - 1, 3)
      into.presence = (nearRe * bestRe + nearIm * bestIm) / (3 * Math.sqrt(best) + 1e-12)
      const turns = -Math.atan2(bestIm, bestRe) / (2 * Math.PI)
      into.startSample = hop * hopSamples + turns * bitSamples
    },
  }
}

/** Carrier detect looks back on as many: 10 ms. */
const latestHops = 3
