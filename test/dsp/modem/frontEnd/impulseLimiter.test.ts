import { describe, expect, it } from 'vitest'
import { whiteNoise } from '../../../../dsp/channel/noise.js'
import { createImpulseLimiter } from '../../../../dsp/modem/frontEnd/impulseLimiter.js'
import { seededRandom } from '../../../../src/runtime/random.js'

const sampleRateHz = 48_000
const tone = (amplitude: number, seconds: number): Float32Array =>
  Float32Array.from(
    { length: Math.round(seconds * sampleRateHz) },
    (_, n) => amplitude * Math.sin((2 * Math.PI * 1700 * n) / sampleRateHz),
  )

/** All of a signal, sample for sample. */
function limit(input: Float32Array, blockSamples = input.length): Float32Array {
  const limiter = createImpulseLimiter(sampleRateHz)
  const output: number[] = []
  for (let at = 0; at < input.length; at += blockSamples)
    output.push(...limiter.process(input.subarray(at, at + blockSamples)))
  output.push(...limiter.flush())
  expect(output.length).toBe(input.length)
  return Float32Array.from(output)
}

const farthest = (a: Float32Array, b: Float32Array, from: number, to: number): number =>
  a
    .subarray(from, to)
    .reduce((most, sample, n) => Math.max(most, Math.abs(sample - b[from + n]!)), 0)

describe('impulse limiter', () => {
  const clickAt = 30_000

  it('bridges a click and leaves the tone around it as it is', () => {
    const clean = tone(0.1, 1)
    const heard = clean.slice()
    heard.fill(1, clickAt, clickAt + 5)
    const limited = limit(heard)
    // A straight line over 0.2 ms of 1700 Hz: the tone itself is 0.1.
    expect(farthest(limited, clean, clickAt - 10, clickAt + 15)).toBeLessThan(0.12)
    expect(farthest(limited, clean, 10_000, clickAt - 10)).toBe(0)
    expect(farthest(limited, clean, clickAt + 15, 48_000)).toBe(0)
  })

  it('a click on top of loud hum is found all the same', () => {
    const clean = tone(0.1, 1).map(
      (x, n) => x + 0.4 * Math.sin((2 * Math.PI * 50 * n) / sampleRateHz),
    )
    const heard = clean.slice()
    heard.fill(-1, clickAt, clickAt + 5)
    expect(farthest(limit(heard), clean, clickAt - 10, clickAt + 15)).toBeLessThan(0.2)
  })

  it('a jump of the zero line is over within 2 ms', () => {
    const heard = tone(0.1, 1)
    for (let n = clickAt; n < heard.length; n++) heard[n]! += 0.6
    expect(farthest(limit(heard), heard, clickAt + 96, heard.length)).toBe(0)
  })

  it('what lasts longer than a click is a louder signal', () => {
    const burst = tone(0.8, 1)
    const heard = tone(0.05, 1)
    heard.set(burst.subarray(0, 960), clickAt)
    const limited = limit(heard)
    expect(farthest(limited, heard, clickAt + 240, clickAt + 960)).toBe(0)
  })

  it('touches hardly more than 1 % of white noise', () => {
    const noise = whiteNoise(2 * sampleRateHz, 0.2, seededRandom(1))
    const limited = limit(noise)
    let touched = 0
    for (let n = sampleRateHz; n < noise.length; n++) if (limited[n] !== noise[n]) touched++
    expect(touched / sampleRateHz).toBeLessThan(0.015)
  })

  it('lets a loud signal through within 5 ms of silence', () => {
    const heard = new Float32Array(2 * sampleRateHz)
    heard.set(tone(0.5, 0.2), sampleRateHz)
    const from = sampleRateHz + 240
    expect(farthest(limit(heard), heard, from, from + 9000)).toBe(0)
  })

  it('a broken source gives silence where it is broken', () => {
    const heard = tone(0.1, 1)
    heard.fill(Number.NaN, 20_000, 21_000)
    heard.fill(Number.POSITIVE_INFINITY, 25_000, 25_010)
    const limited = limit(heard)
    expect(limited.every(Number.isFinite)).toBe(true)
    expect(farthest(limited, heard, 26_000, 48_000)).toBe(0)
  })

  it('does not depend on the blocks', () => {
    const noise = whiteNoise(4000, 0.5, seededRandom(2))
    for (let n = 100; n < 4000; n += 331) noise[n] = 5
    expect([...limit(noise, 7)]).toEqual([...limit(noise)])
  })
})
