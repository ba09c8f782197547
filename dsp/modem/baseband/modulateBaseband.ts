// Bits as audio that frequency-modulates a carrier directly: one level a bit, shaped (pulse.ts), for an input that is flat from
// a few hertz to 7.5 kHz.
import { scramble } from '../../framing/scrambler.js'
import { type TransmissionOptions, transmissionLevels } from '../modulateTransmission.js'
import { basebandBitRate, pulse, pulsePeak, pulseReachBits } from './pulse.js'

export interface BasebandShape {
  /** 19200 and up: the signal reaches 7.5 kHz */
  readonly sampleRateHz: number
  /** what the audio never exceeds, 0 to 1 of full scale; a run of equal bits has 0.68 of it */
  readonly peakLevel: number
  /** bit rate over 9600, parts per million */
  readonly symbolRateErrorPpm?: number
}

export const basebandSampleRateHzMin = 19_200

/**
 * The audio of one transmission, as modulateTransmission has it at 1200 baud.
 * @throws RangeError when a rate or a time is out of range, and for IL2P: what is known of it is for two tones
 */
export function modulateBasebandTransmission(
  options: Omit<TransmissionOptions, 'bitRate'>,
): Float32Array {
  if (options.code?.kind === 'il2p')
    throw new RangeError('modulator of 9600 bit/s: got IL2P, expected FX.25 or no code')
  return modulateBits(scramble(transmissionLevels({ ...options, bitRate: 9600 })), options)
}

/**
 * Scrambled line levels as audio. The bit clock is a fraction of the sample clock and never rounded.
 * @param levels one a bit: 1 above, 0 below
 * @returns samples from half a bit before the middle of the first to half a bit after that of the last
 * @throws RangeError for a sample rate below 19200 Hz
 */
export function modulateBits(levels: Uint8Array, shape: BasebandShape): Float32Array {
  const { sampleRateHz, peakLevel } = shape
  if (!(sampleRateHz >= basebandSampleRateHzMin))
    throw new RangeError(
      `modulator of 9600 bit/s: got ${sampleRateHz} Hz, expected a sample rate from ${basebandSampleRateHzMin} Hz`,
    )
  const bitHz = basebandBitRate * (1 + (shape.symbolRateErrorPpm ?? 0) * 1e-6)
  const samples = new Float32Array(Math.ceil((levels.length * sampleRateHz) / bitHz))
  const height = peakLevel / pulsePeak
  for (let index = 0; index < samples.length; index++) {
    // Middle of bit k at k + 1/2.
    const time = (index * bitHz) / sampleRateHz - 0.5
    const first = Math.max(0, Math.ceil(time - pulseReachBits))
    const last = Math.min(levels.length - 1, Math.floor(time + pulseReachBits))
    let sum = 0
    for (let bit = first; bit <= last; bit++)
      sum += levels[bit] === 1 ? pulseAt(time - bit) : -pulseAt(time - bit)
    samples[index] = height * sum
  }
  return samples
}

const stepsPerBit = 256
const table = Float64Array.from({ length: pulseReachBits * stepsPerBit + 2 }, (_, at) =>
  pulse(at / stepsPerBit),
)

/** By a straight line between entries of the table: within 0.00001. */
function pulseAt(bits: number): number {
  const at = Math.abs(bits) * stepsPerBit
  const whole = Math.floor(at)
  return table[whole]! + (at - whole) * (table[whole + 1]! - table[whole]!)
}
