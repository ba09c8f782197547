// The pulse that each bit is sent as at 9600 bit/s: raised cosine. What is published of the signal are two points of its
// spectrum, -6 dB at 4800 Hz and -60 dB at 7500 Hz (J. Miller, 9600 Baud Packet Radio Modem Design, 1988 and 1994); every raised
// cosine of this bit rate has the first, and of them one roll-off the second:
//     |P(f)| = cos^2(x),  x = pi (f T - (1 - a) / 2) / (2 a),  so a = (7500 T - 1/2) / (2 acos(10^(-60/40)) / pi - 1/2)
// Its value is 1 at its own bit and 0 at all others: an eye that is open without any filter behind it.
// Formulas: J. G. Proakis, Digital Communications, on Nyquist pulses (from memory; checked numerically in the tests).

export const basebandBitRate = 9600

const halfPowerHz = 4800
const stopHz = 7500
const stopDb = 60

/** Roll-off of the raised cosine, 0.586. */
export const rollOff =
  (stopHz - halfPowerHz) / basebandBitRate / ((2 * Math.acos(10 ** (-stopDb / 40))) / Math.PI - 0.5)

const sinc = (x: number): number => (Math.abs(x) < 1e-9 ? 1 : Math.sin(Math.PI * x) / (Math.PI * x))

/** @param bits time from the pulse's middle, in bits */
export function pulse(bits: number): number {
  const doubled = 2 * rollOff * bits
  const denominator = 1 - doubled * doubled
  // Where the denominator is 0, so is the cosine: the limit.
  if (Math.abs(denominator) < 1e-6) return (Math.PI / 4) * sinc(1 / (2 * rollOff))
  return (sinc(bits) * Math.cos(Math.PI * rollOff * bits)) / denominator
}

/**
 * The pulse times itself, so many bits later, integrated over time in bits: what a filter matched to it hands out of its
 * neighbours. The integral of |P(f)|^2 cos(2 pi f t), by Simpson's rule.
 */
export function pulseCorrelation(bits: number): number {
  let sum = 0
  for (let step = 0; step <= 2 * integrationSteps; step++) {
    const frequency = (step * (1 + rollOff)) / (4 * integrationSteps)
    const weight = step === 0 || step === 2 * integrationSteps ? 1 : step % 2 === 0 ? 2 : 4
    sum += weight * pulseSpectrum(frequency) ** 2 * Math.cos(2 * Math.PI * frequency * bits)
  }
  return (sum * (1 + rollOff)) / (6 * integrationSteps)
}

const integrationSteps = 200

/** @param frequency over the bit rate @returns 1 where it is flat */
function pulseSpectrum(frequency: number): number {
  const into = Math.abs(frequency) - (1 - rollOff) / 2
  if (into <= 0) return 1
  return into >= rollOff ? 0 : Math.cos((Math.PI * into) / (2 * rollOff)) ** 2
}

/** Energy of a pulse of height 1, in bits: mean power of a stream of them. */
export const pulseEnergy = pulseCorrelation(0)

/** Bits to each side after which a pulse is left off: it is below 0.0005 from there on. */
export const pulseReachBits = 8

/** How far above 1 the sum of pulses can rise, at the worst time of the worst bits: 1.5. */
export const pulsePeak = worstPeak()

function worstPeak(): number {
  let worst = 0
  for (let part = 0; part < 1; part += 1 / 64) {
    let sum = 0
    for (let bit = -pulseReachBits; bit <= pulseReachBits; bit++) sum += Math.abs(pulse(bit + part))
    worst = Math.max(worst, sum)
  }
  return worst
}
