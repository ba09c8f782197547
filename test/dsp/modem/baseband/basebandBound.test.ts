// The bound of 9600 bit/s in white noise, checked numerically: a detector of maximum likelihood, told pulse, height and timing.
import { expect, it } from 'vitest'
import { gaussian } from '../../../../dsp/channel/gaussian.js'
import { bitMask, blockBits } from '../../../../dsp/modem/baseband/bits.js'
import { createBitTrellis } from '../../../../dsp/modem/baseband/bitTrellis.js'
import { modulateBits } from '../../../../dsp/modem/baseband/modulateBaseband.js'
import { pulse, pulseEnergy, pulsePeak } from '../../../../dsp/modem/baseband/pulse.js'
import { seededRandom } from '../../../../src/runtime/random.js'
import {
  basebandBitErrorRate,
  basebandBoundDb,
  basebandEventRate,
} from '../../../bench/basebandBound.js'

it('is 6.70 dB for half of the frames of 72 octets, 8.07 dB for nine tenths', () => {
  expect(basebandBoundDb(0.5)).toBeCloseTo(6.7, 2)
  expect(basebandBoundDb(0.9)).toBeCloseTo(8.07, 2)
  // The union is little more than its first term there.
  expect(basebandEventRate(6.7) / basebandBitErrorRate(6.7)).toBeLessThan(1.03)
})

it('one wrong bit has the rate of binary antipodal signals: Q(3.0902) = 0.001 (tables of the normal distribution)', () => {
  expect(basebandBitErrorRate(10 * Math.log10(3.0902 ** 2 / 2))).toBeCloseTo(0.001, 6)
})

it('a simulated detector makes as many errors at 5 dB', () => {
  const [ebN0Db, bitCount, samplesPerBit] = [5, 64_000, 5]
  const random = seededRandom(7)
  const noise = gaussian(random)
  const bits = Uint8Array.from({ length: bitCount }, () => (random() < 0.5 ? 0 : 1))
  // Height 1: a bit's energy is g(0), and white noise of density N0 has N0 / 2 times the samples of a bit.
  const audio = modulateBits(bits, { sampleRateHz: 48_000, peakLevel: pulsePeak })
  const rms = Math.sqrt((pulseEnergy / 10 ** (ebN0Db / 10) / 2) * samplesPerBit)
  const heard = audio.map((sample) => sample + rms * noise())
  const trellis = createBitTrellis()
  const value = new Float32Array(bitMask + 1)
  const decided = new Uint8Array(blockBits)
  const levels = { height: pulseEnergy, offset: 0, coherence: 1, presence: 1 }
  let events = 0
  let right = 9
  for (let block = 0; block < bitCount / blockBits; block++) {
    for (let bit = block * blockBits; bit < (block + 1) * blockBits; bit++) {
      let sum = 0
      for (let n = -40; n <= 40; n++) {
        // The middle of a bit is half a sample from the samples about it.
        const at = bit * samplesPerBit + 2 + n
        sum += (heard[at] ?? 0) * pulse((n - 0.5) / samplesPerBit)
      }
      value[bit & bitMask] = sum / samplesPerBit
    }
    trellis.step(value, block * blockBits, levels, decided)
    if (block === 0) continue
    for (let bit = 0; bit < blockBits; bit++) {
      const isWrong = decided[bit] !== bits[(block - 1) * blockBits + bit]
      // Errors with fewer than two right bits between them are one event.
      if (isWrong && right >= 2) events++
      right = isWrong ? 0 : right + 1
    }
  }
  // About 400 of them: a standard deviation is 5 %.
  const rate = events / bitCount
  expect(rate / basebandEventRate(ebN0Db)).toBeGreaterThan(0.85)
  expect(rate / basebandBitErrorRate(ebN0Db)).toBeLessThan(1.15)
})
