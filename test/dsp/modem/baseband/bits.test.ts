// Where bits are cut out of audio, and what the filter hands out for them.
import { describe, expect, it } from 'vitest'
import { gaussian } from '../../../../dsp/channel/gaussian.js'
import { bitMask, createBitStream } from '../../../../dsp/modem/baseband/bits.js'
import { modulateBits } from '../../../../dsp/modem/baseband/modulateBaseband.js'
import { pulse, pulseEnergy, pulsePeak } from '../../../../dsp/modem/baseband/pulse.js'
import { seededRandom } from '../../../../src/runtime/random.js'

const sampleRateHz = 48_000

function streamOf(audio: Float32Array, part = 240) {
  const stream = createBitStream()
  for (let at = 0; at < audio.length; at += part) stream.append(audio.subarray(at, at + part))
  return stream
}
const bitsOf = (stream: ReturnType<typeof streamOf>): number[] =>
  Array.from({ length: stream.count }, (_, bit) => bit & bitMask)

const noise = (count: number, rms: number, seed = 1): Float32Array => {
  const draw = gaussian(seededRandom(seed))
  return Float32Array.from({ length: count }, () => rms * draw())
}
const joined = (...parts: readonly Float32Array[]): Float32Array =>
  Float32Array.from(parts.flatMap((part) => [...part]))

const random = seededRandom(4)
const levels = Uint8Array.from({ length: 1600 }, () => Math.floor(2 * random()))
/** Bits of height 1. */
const signal = modulateBits(levels, { sampleRateHz, peakLevel: pulsePeak })

describe('the filter', () => {
  it('is the pulse over three bits to each side, in steps of a 32nd of a sample', () => {
    const impulse = new Float32Array(400)
    impulse[200] = 1
    const stream = streamOf(impulse)
    for (let step = -20 * 32; step <= 20 * 32; step += 9) {
      const at = 200 + step / 32
      // From 14 samples before the sample that it lies behind to 15 after.
      const isWithin = step > -15 * 32 - 32 && step < 15 * 32
      const reaches = isWithin && Math.floor(at) >= 200 - 15 && Math.floor(at) <= 200 + 14
      const expected = reaches ? pulse((200 - at) / 5) / 5 : 0
      expect(stream.filtered(at)).toBeCloseTo(expected, 12)
      expect(stream.filtered(at + 0.4 / 32)).toBe(stream.filtered(at))
    }
  })

  it.each([240, 1000, 7])(
    'reads what was given in parts of %i, also where the ring begins anew',
    (part) => {
      // The ring has 65,536 samples.
      const audio = noise(66_500, 1)
      const stream = streamOf(audio, part)
      for (const at of [65_000, 65_530, 65_536.5, 65_541, 66_000, 4000]) {
        let sum = 0
        for (let n = Math.floor(at) - 14; n <= Math.floor(at) + 15; n++)
          sum += (audio[n]! * pulse((n - at) / 5)) / 5
        expect(stream.filtered(at)).toBeCloseTo(sum, 9)
      }
    },
  )
})

describe('power', () => {
  it('is that about the mean', () => {
    const stream = streamOf(Float32Array.from([9, 9, 1, 3, 1, 3, 9, 9]))
    expect(stream.power(2, 6)).toBe(1)
    expect(stream.power(2, 4)).toBe(1)
    expect(stream.power(0, 2)).toBe(0)
    expect(stream.power(1, 4)).toBeCloseTo((81 + 1 + 9) / 3 - (13 / 3) ** 2, 9)
  })

  it('of nothing is nothing', () => {
    expect(streamOf(Float32Array.of(5, 7)).power(1, 1)).toBe(0)
  })

  it('reads across the end of the ring', () => {
    const audio = noise(66_000, 1)
    const part = audio.subarray(65_400, 65_700)
    const mean = part.reduce((sum, x) => sum + x, 0) / 300
    const square = part.reduce((sum, x) => sum + x * x, 0) / 300
    expect(streamOf(audio).power(65_400, 65_700)).toBeCloseTo(square - mean * mean, 9)
  })
})

describe('bits', () => {
  it('are cut a hop of 32 at a time, when the seven after it are there', () => {
    const stream = createBitStream()
    const counts = [1279, 1, 159, 1, 320].map((samples) => {
      stream.append(new Float32Array(samples))
      return stream.count
    })
    // The first one stands at 5.
    expect(counts).toEqual([0, 31, 31, 63, 127])
    expect([...stream.position.subarray(0, 4)]).toEqual([5, 10, 15, 20])
  })

  it('lie in their middles and have what the filter gives there', () => {
    const stream = streamOf(joined(signal, new Float32Array(1280)))
    const wrong = bitsOf(stream).filter((at) => {
      const position = stream.position[at]!
      // Middle of bit k at 5 k + 2.5.
      const bit = Math.round((position - 2.5) / 5)
      if (bit < 20 || bit > 1580) return false
      return (
        Math.abs(position - 5 * bit - 2.5) > 0.4 ||
        stream.value[at] !== Math.fround(stream.filtered(position)) ||
        stream.value[at]! > 0 !== (levels[bit] === 1) ||
        stream.coherence[at]! < 0.7 ||
        stream.presence[at]! < 0.5
      )
    })
    expect(wrong).toEqual([])
    const size = bitsOf(stream)
      .slice(30, 1500)
      .reduce((sum, at) => sum + stream.value[at]! ** 2, 0)
    expect(size / 1470).toBeGreaterThan(0.8 * pulseEnergy ** 2)
  })

  it('of which less than 0.28 keeps one phase are not looked at', () => {
    const audio = noise(40_000, 1, 3)
    // Weak enough to be there now and then.
    for (let n = 0; n < audio.length; n++) audio[n]! += 0.25 * Math.cos((Math.PI * n) / 5)
    const stream = streamOf(audio)
    let lowest = 1
    let highest = 0
    const wrong = bitsOf(stream).filter((at) => {
      const coherence = stream.coherence[at]!
      if (coherence < 0.28) highest = Math.max(highest, coherence)
      else lowest = Math.min(lowest, coherence)
      const there = Math.fround(stream.filtered(stream.position[at]!))
      return stream.value[at] !== (coherence < 0.28 ? 0 : there)
    })
    expect(wrong).toEqual([])
    expect(highest).toBeGreaterThan(0.25)
    expect(lowest).toBeLessThan(0.31)
  })

  it('follow each other by more than half a bit and less than one and a half, however the timing jumps', () => {
    let [closest, farthest] = [5, 5]
    for (let jump = 0; jump < 50; jump++) {
      const wave = (late: number) =>
        Float32Array.from({ length: 2400 }, (_, n) => Math.cos((Math.PI * (n - late)) / 5))
      const stream = streamOf(joined(wave(0.3), wave(0.3 + jump / 10), new Float32Array(1280)))
      const gaps = bitsOf(stream)
        .slice(1)
        .map((at) => stream.position[at]! - stream.position[at - 1]!)
      closest = Math.min(closest, ...gaps)
      farthest = Math.max(farthest, ...gaps)
    }
    expect(closest).toBeGreaterThanOrEqual(2.75 - 1e-9)
    expect(closest).toBeLessThan(2.95)
    expect(farthest).toBeLessThan(7.75)
    expect(farthest).toBeGreaterThan(7.5)
  })

  it('their number goes on behind the ring', () => {
    const stream = streamOf(noise(45_000, 1))
    expect(stream.count).toBeGreaterThan(8500)
    const latest = (stream.count - 1) & bitMask
    const end = 160 * (Math.floor(45_000 / 160) - 7)
    expect(stream.position[latest]).toBeGreaterThan(end - 8)
    expect(stream.position[latest]).toBeLessThan(end)
  })

  it('are the same in parts of any length', () => {
    const audio = joined(noise(1000, 0.01), signal, noise(3000, 0.01, 2))
    const whole = streamOf(audio, 2000)
    const inParts = streamOf(audio, 37)
    expect(inParts.count).toBe(whole.count)
    for (const column of ['position', 'value', 'coherence', 'presence'] as const)
      expect(inParts[column]).toEqual(whole[column])
    expect(inParts.latestCoherence()).toBe(whole.latestCoherence())
  })

  it('the latest coherence is that of the last 10 ms', () => {
    expect(streamOf(signal).latestCoherence()).toBeGreaterThan(0.7)
    expect(streamOf(joined(signal, noise(640, 1))).latestCoherence()).toBeLessThan(0.5)
  })
})
