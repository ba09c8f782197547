import fc from 'fast-check'
import { describe, expect, it } from 'vitest'
import { whiteNoise } from '../../../dsp/channel/noise.js'
import { modulateTransmission } from '../../../dsp/modem/modulateTransmission.js'
import { createReceiver } from '../../../dsp/modem/receiver.js'
import { seededRandom } from '../../../src/runtime/random.js'
import { simulateRadioPath } from '../../channel/radioPath.js'
import { hex, receiveAll, testFrame, withGaps } from './receiving.js'

const transmission = { preambleMs: 120, tailMs: 20, peakLevel: 0.5 }

describe('round trip through modulator, simulated channel and receiver', () => {
  const rates = [8000, 9600, 11025, 16000, 22050, 24000, 32000, 44100, 48000, 96000, 192000]

  it.each(rates)('at %i Hz, with white noise at 16 dB Eb/N0', (sampleRateHz) => {
    const random = seededRandom(sampleRateHz)
    const sent = [10, 80, 250].map((length) => testFrame(length, random))
    const audio = simulateRadioPath(
      modulateTransmission({ ...transmission, frames: sent, sampleRateHz }),
      { sampleRateHz, random, audioNoise: { ebN0Db: 16 } },
    )
    const { frames } = receiveAll(audio, { sampleRateHz, repair: 'none' })
    expect(frames.map((frame) => hex(frame.octets))).toEqual(sent.map(hex))
  })

  it('any frames, any path that a good radio makes', () => {
    const path = fc.record({
      payloads: fc.array(fc.integer({ min: 1, max: 120 }), { minLength: 1, maxLength: 3 }),
      sampleRateHz: fc.constantFrom(11025, 22050, 44100, 48000),
      toneBalanceDb: fc.double({ min: -6, max: 6, noNaN: true }),
      toneOffsetHz: fc.double({ min: -40, max: 40, noNaN: true }),
      symbolRateErrorPpm: fc.double({ min: -200, max: 200, noNaN: true }),
      viaFm: fc.boolean(),
      bits: fc.constantFrom(8, 16),
      seed: fc.integer({ min: 1, max: 1e6 }),
      blockSamples: fc.integer({ min: 1, max: 30_000 }),
    })
    fc.assert(
      fc.property(path, ({ payloads, sampleRateHz, viaFm, bits, seed, blockSamples, ...tones }) => {
        const random = seededRandom(seed)
        const sent = payloads.map((length) => testFrame(length, random))
        const audio = simulateRadioPath(
          modulateTransmission({ ...transmission, ...tones, frames: sent, sampleRateHz }),
          {
            sampleRateHz,
            random,
            bits,
            ...(viaFm && sampleRateHz >= 44100
              ? {
                  preEmphasis: true,
                  fm: { cnrDb: 20, deviationHz: 3000, ifBandwidthHz: 15000 },
                  deEmphasis: true,
                  voiceFilter: true,
                }
              : { audioNoise: { ebN0Db: 20 } }),
          },
        )
        const { frames } = receiveAll(audio, { sampleRateHz, repair: 'none' }, blockSamples)
        expect(frames.map((frame) => hex(frame.octets))).toEqual(sent.map(hex))
      }),
      { seed: 4, numRuns: 40 },
    )
  })
})

describe('one frame on the air is one frame out', () => {
  const sampleRateHz = 24000
  const random = seededRandom(9)
  const frame = testFrame(40, random)

  it('the same frame twice in one transmission, with a shared flag, is two', () => {
    const audio = modulateTransmission({ ...transmission, frames: [frame, frame], sampleRateHz })
    const { frames } = receiveAll(audio, { sampleRateHz, repair: 'none' })
    expect(frames.map((found) => hex(found.octets))).toEqual([hex(frame), hex(frame)])
    expect(frames[1]!.firstSample).toBeGreaterThan(frames[0]!.firstSample + 0.3 * sampleRateHz)
  })

  it('the same frame a second later is another; both say where they lie', () => {
    const once = modulateTransmission({ ...transmission, frames: [frame], sampleRateHz })
    const audio = withGaps([once, once], sampleRateHz, 0.001, random)
    const { frames } = receiveAll(audio, { sampleRateHz, repair: 'none' })
    expect(frames).toHaveLength(2)
    frames.forEach((found, index) => {
      // The transmission starts after a gap, and the opening flag after 18 flags of preamble.
      const start = (index + 1) * sampleRateHz + index * once.length + 18 * 160
      expect(Math.abs(found.firstSample - start)).toBeLessThanOrEqual(2)
      expect(Math.abs(found.lastSample - (start + once.length - 18 * 160 - 3 * 160))).toBeLessThan(
        4,
      )
    })
  })

  it('comes out within 40 ms of its end', () => {
    const audio = modulateTransmission({ ...transmission, frames: [frame], sampleRateHz })
    const end = audio.length - 3 * 160
    const receiver = createReceiver({ sampleRateHz, repair: 'none' })
    expect(receiver.push(audio.subarray(0, end))).toEqual([])
    expect(receiver.push(new Float32Array(0.04 * sampleRateHz))).toHaveLength(1)
  })
})

it('the frames do not depend on the borders of blocks', () => {
  const random = seededRandom(10)
  const sampleRateHz = 44100
  const sent = Array.from({ length: 6 }, () => testFrame(50, random))
  const audio = simulateRadioPath(
    modulateTransmission({ ...transmission, frames: sent, sampleRateHz }),
    { sampleRateHz, random, audioNoise: { ebN0Db: 11 } },
  )
  const runs = [1, 37, 4410, audio.length].map((blockSamples) =>
    receiveAll(audio, { sampleRateHz, repair: 'careful' }, blockSamples),
  )
  expect(runs[0]!.frames.length).toBeGreaterThan(3)
  for (const { frames, receiver } of runs) {
    expect(frames).toEqual(runs[0]!.frames)
    expect(receiver.counters).toEqual(runs[0]!.receiver.counters)
  }
})

describe('what is odd', () => {
  const sampleRateHz = 16000

  it('addresses with characters that the standard forbids are read', () => {
    const frame = testFrame(20, seededRandom(11))
    // A space inside the call, as a satellite on the air sends it, and lower-case letters.
    frame.set([0x41 << 1, 0x4f << 1, 0x20 << 1, 0x32 << 1, 0x74 << 1, 0x20 << 1], 7)
    const audio = modulateTransmission({ ...transmission, frames: [frame], sampleRateHz })
    expect(receiveAll(audio, { sampleRateHz, repair: 'none' }).frames).toHaveLength(1)
  })

  it('a right FCS over no address field is counted, not handed out', () => {
    const frame = new Uint8Array(40).fill(0x33)
    const audio = modulateTransmission({ ...transmission, frames: [frame], sampleRateHz })
    const { frames, receiver } = receiveAll(audio, { sampleRateHz, repair: 'none' })
    expect(frames).toEqual([])
    expect(receiver.counters).toMatchObject({ frames: 0, implausible: 1 })
  })

  it('a frame broken on the air is counted as rejected', () => {
    const audio = modulateTransmission({
      ...transmission,
      frames: [testFrame(60, seededRandom(12))],
      sampleRateHz,
    })
    // Ten symbols: sequence detection bridges one or two.
    audio.fill(0, audio.length >> 1, (audio.length >> 1) + 400)
    const { frames, receiver } = receiveAll(audio, { sampleRateHz, repair: 'none' })
    expect(frames).toEqual([])
    expect(receiver.counters.fcsRejected).toBe(1)
  })

  it('not a number, infinity and absurd levels pass by like silence', () => {
    const audio = modulateTransmission({
      ...transmission,
      frames: [testFrame(30, seededRandom(13))],
      sampleRateHz,
    })
    const broken = Float32Array.of(Number.NaN, Number.POSITIVE_INFINITY, -1e30, 1e30, Number.NaN)
    const { frames } = receiveAll(Float32Array.of(...broken, ...audio), {
      sampleRateHz,
      repair: 'none',
    })
    expect(frames).toHaveLength(1)
    expect(Number.isFinite(frames[0]!.quality.ebN0Db)).toBe(true)
  })

  it('rates out of range are refused', () => {
    for (const rate of [7999, 192_001, Number.NaN])
      expect(() => createReceiver({ sampleRateHz: rate, repair: 'none' })).toThrow(RangeError)
  })
})

describe('channel busy', () => {
  const sampleRateHz = 48000

  it('follows a modem signal and not noise', () => {
    const random = seededRandom(14)
    const audio = simulateRadioPath(
      modulateTransmission({ ...transmission, frames: [testFrame(60, random)], sampleRateHz }),
      { sampleRateHz, random, audioNoise: { ebN0Db: 13 } },
    )
    const receiver = createReceiver({ sampleRateHz, repair: 'none' })
    let busyInNoise = 0
    const noise = whiteNoise(sampleRateHz * 4, 0.05, random)
    for (let at = 0; at < noise.length; at += 480) {
      receiver.push(noise.subarray(at, at + 480))
      if (receiver.channelBusy) busyInNoise++
    }
    expect(busyInNoise).toBeLessThan(noise.length / 480 / 50)
    receiver.push(audio.subarray(0, 2400))
    expect(receiver.channelBusy).toBe(true)
    receiver.push(audio.subarray(2400))
    expect(receiver.channelBusy).toBe(true)
    receiver.push(noise.subarray(0, 2400))
    expect(receiver.channelBusy).toBe(false)
  })

  it('by option, any signal above the noise is busy', () => {
    const random = seededRandom(15)
    const noise = whiteNoise(sampleRateHz, 0.01, random)
    const voice = whiteNoise(sampleRateHz / 4, 0.2, random)
    const busy = (busyOnAnySignal: boolean): boolean => {
      const receiver = createReceiver({ sampleRateHz, repair: 'none', busyOnAnySignal })
      receiver.push(noise)
      receiver.push(voice)
      return receiver.channelBusy
    }
    expect(busy(true)).toBe(true)
    expect(busy(false)).toBe(false)
  })
})

it('a minute of noise gives no frame', () => {
  const noise = whiteNoise(12000 * 60, 0.2, seededRandom(16))
  expect(receiveAll(noise, { sampleRateHz: 12000, repair: 'careful' }, 12000).frames).toEqual([])
})
