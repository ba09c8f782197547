// One audio out of several receivers of one channel, each counting by how quiet it is at that moment.
//
// Noise of an FM discriminator rises with frequency, and the more the weaker the carrier; above 4.2 kHz there is no signal. So the
// power up there shows, millisecond by millisecond, which antenna is in a fade, while what is within the signal's band shows it
// only from several symbols. A receiver's weight is the inverse square of that power (by trial, beside the inverse itself).
// The others are brought to the first one's time and polarity, by the largest correlation with it.

/** Where the noise is measured: above the signal and what a discriminator adds to it. */
const noiseFromHz = 4200
/** Quality of the two second-order sections of a Butterworth high-pass of fourth order. */
const qualities = [0.5412, 1.3066] as const
/** Time over which noise is averaged, and the longest delay between receivers. */
const averagingMs = 4
const delayMaxMs = 1.5
/** Below this there is no band in which to measure. */
const sampleRateMinHz = 16_000
/** Correlations look back on a second; only each fourth sample is multiplied. */
const lookBackS = 1
const stride = 4
/** Delays are looked at anew so often; one that is no more alike than this, or hardly more than the one at hand, changes nothing. */
const renewalS = 0.1
const likenessMin = 0.3
const betterBy = 1.1
const powerFloor = 1e-9

export interface ReceiverMixture {
  /** samples by which what comes out is later than what went in */
  readonly delaySamples: number
  /** @param blocks of equal length, one for each receiver */
  push(blocks: readonly Float32Array[]): Float32Array
}

/** @returns undefined for a rate at which there is no band above the signal */
export function createReceiverMixture(
  sampleRateHz: number,
  count: number,
): ReceiverMixture | undefined {
  if (sampleRateHz < sampleRateMinHz) return undefined
  const reach = Math.ceil((delayMaxMs / 1000) * sampleRateHz)
  const window = Math.round((averagingMs / 1000) * sampleRateHz)
  const delaySamples = reach + window
  const lines = Array.from({ length: count }, () =>
    createNoiseLine(sampleRateHz, delaySamples + reach, window),
  )
  const delays = Array.from({ length: count - 1 }, () => createDelayFit(sampleRateHz, reach))

  const mixed = (): number => {
    let sum = 0
    let total = 0
    for (let at = 0; at < count; at++) {
      const { lag, sign } = at === 0 ? aligned : delays[at - 1]!
      const line = lines[at]!
      const weight = 1 / line.powerAt(delaySamples - lag) ** 2
      sum += weight * sign * line.sampleAt(delaySamples - lag)
      total += weight
    }
    return sum / total
  }

  return {
    delaySamples,
    push(blocks) {
      return blocks[0]!.map((_, index) => {
        for (let at = 0; at < count; at++) lines[at]!.append(blocks[at]![index]!)
        for (let at = 1; at < count; at++) delays[at - 1]!.follow(lines[0]!, lines[at]!)
        return mixed()
      })
    },
  }
}

const aligned = { lag: 0, sign: 1 }

/** The latest samples of a receiver, and the noise about each. */
interface NoiseLine {
  append(sample: number): void
  /** @param ago samples before the latest one */
  sampleAt(ago: number): number
  /** over the time about it; `ago` half of that at least */
  powerAt(ago: number): number
}

function createNoiseLine(sampleRateHz: number, reach: number, window: number): NoiseLine {
  const size = 2 ** Math.ceil(Math.log2(reach + window + 1))
  const mask = size - 1
  const samples = new Float32Array(size)
  const squares = new Float32Array(size)
  const powers = new Float32Array(size)
  const sections = qualities.map((quality) => highPassSection(noiseFromHz / sampleRateHz, quality))
  let sum = 0
  let end = 0
  return {
    append(sample) {
      const noise = sections.reduce((value, section) => section(value), sample)
      const at = end & mask
      samples[at] = sample
      squares[at] = noise * noise
      sum += squares[at]! - squares[(end - window) & mask]!
      powers[at] = Math.max(0, sum) / window + powerFloor
      end++
    },
    sampleAt: (ago) => samples[(end - 1 - ago) & mask]!,
    powerAt: (ago) => powers[(end - 1 - ago + (window >> 1)) & mask]!,
  }
}

/** A second-order high-pass by the bilinear transform, in transposed direct form. */
function highPassSection(frequency: number, quality: number): (sample: number) => number {
  const turn = 2 * Math.PI * frequency
  const alpha = Math.sin(turn) / (2 * quality)
  const cos = Math.cos(turn)
  const gain = (1 + cos) / 2 / (1 + alpha)
  const a1 = (-2 * cos) / (1 + alpha)
  const a2 = (1 - alpha) / (1 + alpha)
  let [first, second] = [0, 0]
  return (x) => {
    const y = gain * x + first
    first = -2 * gain * x - a1 * y + second
    second = gain * x - a2 * y
    return y
  }
}

/** How much later a receiver hears what the first one hears, and whether the other way round. */
interface DelayFit {
  readonly lag: number
  readonly sign: number
  follow(first: NoiseLine, other: NoiseLine): void
}

function createDelayFit(sampleRateHz: number, reach: number): DelayFit {
  const products = new Float64Array(2 * reach + 1)
  const kept = 1 - stride / (lookBackS * sampleRateHz)
  const renewal = Math.round(renewalS * sampleRateHz)
  const powers = new Float64Array(2)
  let count = 0
  const fit = { lag: 0, sign: 1, follow }
  function follow(first: NoiseLine, other: NoiseLine): void {
    count++
    if (count % stride !== 0) return
    const x = first.sampleAt(reach)
    const y = other.sampleAt(reach)
    powers[0] = powers[0]! * kept + x * x
    powers[1] = powers[1]! * kept + y * y
    for (let at = 0; at <= 2 * reach; at++)
      products[at] = products[at]! * kept + x * other.sampleAt(2 * reach - at)
    if (count % renewal < stride) renew()
  }
  const renew = (): void => {
    const largest = products.reduce(
      (best, value, at) => (Math.abs(value) > Math.abs(products[best]!) ? at : best),
      0,
    )
    const size = Math.abs(products[largest]!)
    const isAlike = size > likenessMin * Math.sqrt(powers[0]! * powers[1]!)
    if (!isAlike || size < betterBy * Math.abs(products[fit.lag + reach]!)) {
      if (isAlike) fit.sign = Math.sign(products[fit.lag + reach]!)
      return
    }
    fit.lag = largest - reach
    fit.sign = Math.sign(products[largest]!)
  }
  return fit
}
