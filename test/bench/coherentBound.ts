// What no receiver without a code can beat: the error rate of a coherent maximum-likelihood sequence detector that knows
// phase and timing. Formulas: J. B. Anderson, T. Aulin, C.-E. Sundberg, Digital Phase Modulation, 1986, on the distances of
// CPFSK and the union bound; for the noncoherent curve J. G. Proakis, Digital Communications (both from memory).

/** Peak frequency deviation times two over the symbol rate: 1000 Hz / 1200 baud. */
const modulationIndex = 5 / 6

/**
 * Normalised squared distance d^2 of two CPFSK signals whose phases part by one symbol, stay parted for `parted` symbols
 * and meet again: 2 (1 - sinc(2h)) + parted (1 - cos(2 pi h)).
 */
export function squaredDistance(parted: number): number {
  const turn = 2 * Math.PI * modulationIndex
  return 2 * (1 - Math.sin(turn) / turn) + parted * (1 - Math.cos(turn))
}

/**
 * Probability that an error event starts at a symbol. Every pair of paths [2, 0 ... 0, -2] fits half of the sent
 * sequences; the pairwise probability is Q(sqrt(d^2 Eb/N0)).
 * @param partedMax 0 for the nearest pair alone, more for the union over longer ones
 */
export function coherentEventRate(ebN0Db: number, partedMax = 12): number {
  const ebN0 = 10 ** (ebN0Db / 10)
  let sum = 0
  for (let parted = 0; parted <= partedMax; parted++)
    sum += 0.5 * gaussianTail(Math.sqrt(squaredDistance(parted) * ebN0))
  return sum
}

/** Bit error rate of noncoherent detection of orthogonal tones, one symbol at a time: exp(-Eb/2N0) / 2. */
export function noncoherentErrorRate(ebN0Db: number): number {
  return 0.5 * Math.exp(-(10 ** (ebN0Db / 10)) / 2)
}

/** Success of a frame of so many channel bits, flags included. */
export function frameSuccess(errorRate: number, channelBits: number): number {
  return (1 - Math.min(1, errorRate)) ** channelBits
}

/** Q(x), for x from 0: a series up to 2, the continued fraction of Laplace beyond. */
export function gaussianTail(x: number): number {
  const density = Math.exp((-x * x) / 2) / Math.sqrt(2 * Math.PI)
  if (x > 2) {
    let fraction = x
    for (let k = 60; k >= 1; k--) fraction = x + k / fraction
    return density / fraction
  }
  // Series of the distribution function (Abramowitz and Stegun 26.2.11).
  let term = x
  let sum = x
  for (let k = 1; k < 60; k++) {
    term *= (x * x) / (2 * k + 1)
    sum += term
  }
  return 0.5 - density * sum
}
