import { describe, expect, it } from 'vitest'
import { whiteNoise } from '../../../../dsp/channel/noise.js'
import { createHighPass } from '../../../../dsp/modem/frontEnd/highPass.js'
import { seededRandom } from '../../../../src/runtime/random.js'

const rateHz = 12_000

function pass(input: Float32Array, blockSamples = input.length): Float32Array {
  const highPass = createHighPass()
  const output: number[] = []
  for (let at = 0; at < input.length; at += blockSamples)
    output.push(...highPass.process(input.subarray(at, at + blockSamples)))
  output.push(...highPass.flush())
  return Float32Array.from(output)
}

const tone = (hz: number): Float32Array =>
  Float32Array.from({ length: 6000 }, (_, n) => Math.sin((2 * Math.PI * hz * n) / rateHz))

/** Amplitudes in phase with a tone and across it, as shares of the tone. */
function response(hz: number): { along: number; across: number } {
  const output = pass(tone(hz))
  let [along, across] = [0, 0]
  for (let n = 600; n < 5400; n++) {
    const angle = (2 * Math.PI * hz * n) / rateHz
    along += (output[n]! * Math.sin(angle)) / 2400
    across += (output[n]! * Math.cos(angle)) / 2400
  }
  return { along, across }
}

describe('high-pass', () => {
  // 1 - (sin(17 pi f) / (17 sin(pi f)))^2 with f in shares of the rate: the average twice over 17 samples, by hand.
  it.each([50, 100, 250, 400, 1200, 1700, 2200])('has its response and no phase at %i Hz', (hz) => {
    const f = hz / rateHz
    const average = Math.sin(17 * Math.PI * f) / (17 * Math.sin(Math.PI * f))
    const { along, across } = response(hz)
    expect(along).toBeCloseTo(1 - average ** 2, 3)
    expect(Math.abs(across)).toBeLessThan(1e-3)
  })

  it('leaves the tones, and nothing of hum and of a steady offset', () => {
    for (const hz of [1200, 2200]) expect(response(hz).along).toBeGreaterThan(0.975)
    expect(response(50).along).toBeLessThan(0.03)
    const offset = pass(new Float32Array(1000).fill(0.5))
    expect(Math.max(...offset.subarray(40, 900).map(Math.abs))).toBeLessThan(1e-6)
  })

  it('keeps to the moments of its input, whatever the blocks', () => {
    const noise = whiteNoise(2000, 0.2, seededRandom(3))
    const whole = pass(noise)
    expect(whole.length).toBe(2000)
    expect([...pass(noise, 7)]).toEqual([...whole])
    expect([...pass(noise, 1)]).toEqual([...whole])
  })
})
