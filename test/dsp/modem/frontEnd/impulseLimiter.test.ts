import { describe, expect, it } from 'vitest'
import { whiteNoise } from '../../../../dsp/channel/noise.js'
import { createImpulseLimiter } from '../../../../dsp/modem/frontEnd/impulseLimiter.js'
import { seededRandom } from '../../../../src/runtime/random.js'

const sampleRateHz = 48_000
const tone = (amplitude: number, seconds: number): Float32Array =>
  Float32Array.from(
    { length: seconds * sampleRateHz },
    (_, n) => amplitude * Math.sin((2 * Math.PI * 1700 * n) / sampleRateHz),
  )

describe('impulse limiter', () => {
  it('lets tones pass and cuts clicks', () => {
    const limiter = createImpulseLimiter(sampleRateHz)
    limiter.process(tone(0.1, 0.5))
    const heard = tone(0.1, 0.1)
    heard.fill(1, 2000, 2006)
    const limited = limiter.process(heard)
    expect(Math.max(...limited)).toBeLessThan(0.35)
    expect([...limited.subarray(0, 2000)]).toEqual([...heard.subarray(0, 2000)])
    expect([...limited.subarray(2010)]).toEqual([...heard.subarray(2010)])
  })

  it('touches less than 1 % of white noise', () => {
    const noise = whiteNoise(2 * sampleRateHz, 0.2, seededRandom(1))
    const limited = createImpulseLimiter(sampleRateHz).process(noise)
    const half = sampleRateHz
    let touched = 0
    for (let n = half; n < noise.length; n++) if (limited[n] !== noise[n]) touched++
    expect(touched / half).toBeLessThan(0.01)
  })

  it('lets a loud signal through soon after silence', () => {
    const limiter = createImpulseLimiter(sampleRateHz)
    limiter.process(new Float32Array(2 * sampleRateHz))
    const loud = tone(0.5, 0.2)
    const limited = limiter.process(loud)
    const from = 0.08 * sampleRateHz
    expect([...limited.subarray(from)]).toEqual([...loud.subarray(from)])
  })

  it('does not depend on the blocks', () => {
    const noise = whiteNoise(4000, 0.5, seededRandom(2))
    const whole = [...createImpulseLimiter(sampleRateHz).process(noise)]
    const limiter = createImpulseLimiter(sampleRateHz)
    const parts: number[] = []
    for (let at = 0; at < noise.length; at += 7)
      parts.push(...limiter.process(noise.subarray(at, at + 7)))
    expect(parts).toEqual(whole)
  })
})
