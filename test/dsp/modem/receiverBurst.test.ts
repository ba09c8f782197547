// Bursts of a tenth of a second through the whole receiver: what is told of them, and of what they are counted as.
import { describe, expect, it } from 'vitest'
import { noiseRmsForEbN0, whiteNoise } from '../../../dsp/channel/noise.js'
import type { CopyCombiner } from '../../../dsp/modem/copies/combine.js'
import {
  modulateTransmission,
  type TransmissionOptions,
} from '../../../dsp/modem/modulateTransmission.js'
import type { ReceiverOptions } from '../../../dsp/modem/receivedFrame.js'
import { createReceiver } from '../../../dsp/modem/receiver.js'
import { meanPower } from '../../../dsp/numbers/power.js'
import { seededRandom } from '../../../src/runtime/random.js'
import { addNoise } from '../../channel/addNoise.js'
import { hex, receiveAll, testFrame } from './receiving.js'

/** Two samples to one of the working rate, and 20 to a symbol. */
const sampleRateHz = 24_000
const frame = testFrame(4, seededRandom(1))
/** Control characters are no text. */
const odd = frame.slice()
odd.fill(2, 16)

/** Behind nine flags of preamble stand opening flag, frame and FCS with three inserted zeros, and closing flag. */
const flagSamples = 160
const frameAt = 9 * flagSamples
const frameSamples = 20 * (8 + 8 * (frame.length + 2) + 3 + 8)

const burst = (more: Partial<TransmissionOptions> = {}): Float32Array =>
  modulateTransmission({
    ...{ frames: [frame], preambleMs: 60, tailMs: 10, sampleRateHz, peakLevel: 0.5, ...more },
  })
const joined = (...parts: readonly Float32Array[]): Float32Array =>
  Float32Array.from(parts.flatMap((part) => [...part]))
const quiet = (samples: number): Float32Array => whiteNoise(samples, 0.0005, seededRandom(2))
const around = (signal: Float32Array): Float32Array => joined(quiet(1200), signal, quiet(2400))

const receive = (
  audio: Float32Array,
  more: Partial<ReceiverOptions> = {},
  blockSamples = 960,
): ReturnType<typeof receiveAll> =>
  receiveAll(audio, { sampleRateHz, repair: 'careful', ...more }, blockSamples)

/** In white noise. */
const noisy = (signal: Float32Array, ebN0Db: number, seed: number): Float32Array =>
  addNoise(
    joined(new Float32Array(600), signal, new Float32Array(1200)),
    noiseRmsForEbN0(meanPower(signal), ebN0Db, sampleRateHz),
    seededRandom(seed),
  )

/** Symbols of another transmission stand in it. */
function broken(): Float32Array {
  const signal = burst()
  const other = burst({ frames: [testFrame(60, seededRandom(9))] })
  signal.set(other.subarray(3000, 3900), 3500)
  return signal
}

describe('a frame', () => {
  it('is told whole, with what was measured', () => {
    const { frames, receiver } = receive(around(burst()))
    const [{ firstSample, lastSample, quality, ...rest }] = frames as [(typeof frames)[number]]
    expect(rest).toEqual({
      ...{ octets: frame, detector: 'correlators', repairedBits: 0, code: undefined },
    })
    expect('copies' in rest).toBe(false)
    expect(Math.abs(firstSample - 1200 - frameAt)).toBeLessThanOrEqual(1)
    expect(Math.abs(lastSample - 1200 - frameAt - frameSamples)).toBeLessThanOrEqual(1)
    // A sine of half of full scale has -9.03 dBFS.
    expect(quality.levelDbfs).toBeCloseTo(-9.03, 1)
    expect(Math.abs(quality.toneBalanceDb)).toBeLessThan(0.1)
    expect(Math.abs(quality.toneOffsetHz)).toBeLessThan(0.5)
    expect(quality).toMatchObject({ clippedShare: 0, preambleFlags: 10 })
    expect(receiver.counters).toEqual({ frames: 1, repaired: 0, fcsRejected: 0, implausible: 0 })
    expect(receiver.takeDamaged()).toEqual([])
  })

  // Of a sine of full scale a share of 2 acos(127/128) / pi, 8 %, lies at the limit.
  it('says how much of it was clipped', () => {
    const [found] = receive(around(burst({ peakLevel: 1 }))).frames
    expect(Math.abs(found!.quality.clippedShare - 0.08)).toBeLessThan(0.02)
    const half = burst({ peakLevel: 0.9 }).fill(1, 0, 1200)
    expect(receive(joined(half, quiet(2400))).frames[0]!.quality.clippedShare).toBe(0)
  })

  it.each([1, 11, 119, 100_000])('is the same in blocks of %i', (blockSamples) => {
    const audio = around(burst())
    expect(receive(audio, {}, blockSamples).frames).toEqual(receive(audio).frames)
  })

  it('that begins with the audio does so at sample 0 at the earliest', () => {
    const cut = burst({ preambleMs: 0 }).subarray(4)
    const [found] = receive(joined(cut, quiet(2400))).frames
    expect(found!.firstSample).toBe(0)
    expect(found!.lastSample).toBeGreaterThan(frameSamples - 40)
  })

  it('that ends with the audio comes at the end of the stream', () => {
    const receiver = createReceiver({ sampleRateHz, repair: 'none' })
    const audio = joined(quiet(1200), burst().subarray(0, frameAt + frameSamples))
    expect(receiver.push(audio)).toEqual([])
    expect(receiver.finish().map(({ octets }) => hex(octets))).toEqual([hex(frame)])
  })

  it('is measured in one long block as in short ones', () => {
    // Longer than what is kept of the audio, 20 s.
    const audio = joined(around(burst()), whiteNoise(22 * sampleRateHz, 0.01, seededRandom(3)))
    const inOne = receive(audio, {}, audio.length).frames
    expect(inOne.map(({ octets }) => hex(octets))).toEqual([hex(frame)])
    expect(inOne[0]!.quality.levelDbfs).toBeCloseTo(-9.03, 1)
    expect(inOne[0]!.quality.clippedShare).toBe(0)
  })
})

describe('counted as', () => {
  it.each([
    [5, 0],
    [3, 1],
    [4, 1],
  ])('repaired or not, in noise of seed %i: %i', (seed, repaired) => {
    const { frames, receiver } = receive(noisy(burst(), 5, seed))
    expect(frames.map(({ octets }) => hex(octets))).toEqual([hex(frame)])
    expect(frames.filter(({ repairedBits }) => repairedBits > 0)).toHaveLength(repaired)
    expect(receiver.counters).toEqual({ frames: 1, repaired, fcsRejected: 0, implausible: 0 })
  })

  it('implausible: a right FCS over what has no addresses', () => {
    const { frames, receiver } = receive(around(burst({ frames: [new Uint8Array(20).fill(0x33)] })))
    expect(frames).toEqual([])
    expect(receiver.counters).toEqual({ frames: 0, repaired: 0, fcsRejected: 0, implausible: 1 })
  })

  it('damaged, and told where', () => {
    const { frames, receiver } = receive(around(broken()))
    expect(frames).toEqual([])
    expect(receiver.counters).toEqual({ frames: 0, repaired: 0, fcsRejected: 1, implausible: 0 })
    const [one, ...others] = receiver.takeDamaged()
    expect(others).toEqual([])
    expect(one!.firstSample).toBeGreaterThanOrEqual(1200 + frameAt - 40)
    expect(one!.lastSample).toBeLessThanOrEqual(1200 + frameAt + frameSamples + 40)
    expect(one!.lastSample - one!.firstSample).toBeGreaterThan(frameSamples - 600)
    expect(receiver.takeDamaged()).toEqual([])
  })
})

describe('behind three seconds of one value', () => {
  const zeros = new Float32Array(3 * sampleRateHz)

  it('places are those of the input', () => {
    const [found] = receive(joined(zeros, burst(), new Float32Array(2400))).frames
    expect(Math.abs(found!.firstSample - zeros.length - frameAt)).toBeLessThanOrEqual(1)
    expect(Math.abs(found!.lastSample - zeros.length - frameAt - frameSamples)).toBeLessThan(2)
    const atEnd = createReceiver({ sampleRateHz, repair: 'none' })
    atEnd.push(joined(zeros, burst().subarray(0, frameAt + frameSamples)))
    expect(atEnd.finish()[0]!.firstSample).toBe(found!.firstSample)
    const { receiver } = receive(joined(zeros, broken(), new Float32Array(2400)))
    expect(receiver.takeDamaged()[0]!.firstSample).toBeGreaterThan(zeros.length + frameAt - 40)
  })

  it('receivers that share a combiner do not leave it out: they go by one clock', () => {
    const places: number[] = []
    const combiner: CopyCombiner = {
      take(stretch) {
        places.push(stretch.startSample)
        return []
      },
      counters: { joint: 0 } as never,
    }
    receive(joined(zeros, broken(), new Float32Array(4800)), { combiner })
    expect(places.length).toBeGreaterThan(0)
    // At the working rate.
    expect(Math.min(...places)).toBeGreaterThan(zeros.length / 2)
  })
})

it('a frame that was made of two copies says so', () => {
  const octets = testFrame(6, seededRandom(5))
  const combiner: CopyCombiner = {
    take: ({ startSample }) => [
      {
        ...{ octets, startSample: startSample + 100, endSample: startSample + 2000 },
        ...{ precedingFlags: 4, repairedBits: 2, copies: 2 },
      },
    ],
    counters: { joint: 0 } as never,
  }
  const { frames, receiver } = receive(around(broken()), { combiner })
  expect(frames).toHaveLength(1)
  expect(frames[0]).toMatchObject({ octets, copies: 2, repairedBits: 2, detector: 'copies' })
  expect(receiver.counters).toMatchObject({ frames: 1, repaired: 1 })
})

it('frames come out each 10 ms of the stream, wherever its blocks and the frames in it end', () => {
  const comesAt = (lead: number): number => {
    const receiver = createReceiver({ sampleRateHz, repair: 'none' })
    const audio = joined(quiet(1200 + lead), burst(), quiet(2400))
    for (let at = 0; at < audio.length; at += 24)
      if (receiver.push(audio.subarray(at, at + 24)).length > 0) return at
    return -1
  }
  const moments = [0, 72, 144, 216].map(comesAt)
  expect(Math.min(...moments)).toBeGreaterThan(1200 + frameAt + frameSamples)
  expect(new Set(moments.map((at) => at % 240)).size).toBe(1)
})

describe('what few of the correlators saw', () => {
  // For each seed so many of them find the FCS right. What makes no sense comes later then, from the sequence detector.
  it.each([
    [10, 2, 1, 'sequence'],
    [11.5, 3, 4, 'sequence'],
    [11.5, 6, 4, 'sequence'],
    [11.5, 7, 5, 'correlators'],
    [11.5, 8, 5, 'correlators'],
  ])('at %f dB, seed %i: of odd content, by %i, it is told by: %s', (ebN0Db, seed, _votes, by) => {
    const { frames } = receive(noisy(burst({ frames: [odd] }), ebN0Db, seed), { repair: 'none' })
    expect(frames.map(({ octets, detector }) => [hex(octets), detector])).toEqual([[hex(odd), by]])
  })

  it('is told at once where it makes sense', () => {
    const { frames } = receive(noisy(burst(), 10, 2), { repair: 'none' })
    expect(frames.map(({ detector }) => detector)).toEqual(['correlators'])
  })

  it('odd content that check octets led to is told', () => {
    const coded = burst({ frames: [odd], code: { kind: 'il2p', hasCrc: true } })
    const { frames } = receive(around(coded), { il2p: true })
    expect(frames.map(({ octets }) => hex(octets))).toEqual([hex(odd)])
    expect(frames[0]!.code).toEqual({ kind: 'IL2P', correctedOctets: 0 })
    expect(receive(around(coded)).frames).toEqual([])
  })
})

describe('busy', () => {
  const heardBusy = (audio: Float32Array, more: Partial<ReceiverOptions> = {}): boolean => {
    const receiver = createReceiver({ sampleRateHz, repair: 'none', ...more })
    for (let at = 0; at < audio.length; at += 480) receiver.push(audio.subarray(at, at + 480))
    return receiver.channelBusy
  }

  it('while a signal is there, and soon after it no more', () => {
    const lead = whiteNoise(2400, 0.005, seededRandom(4))
    expect(heardBusy(lead)).toBe(false)
    expect(heardBusy(joined(lead, burst()))).toBe(true)
    expect(heardBusy(joined(lead, burst(), lead))).toBe(false)
  })

  it('by a signal that is 250 Hz off its frequency', () => {
    const flags = burst({ preambleMs: 500, toneOffsetHz: 250 })
    expect(heardBusy(joined(quiet(2400), flags))).toBe(true)
  })

  it.each([true, false])('by any other signal, where that is asked for: %s', (busyOnAnySignal) => {
    const lead = whiteNoise(9600, 0.01, seededRandom(15))
    const voice = whiteNoise(2400, 0.2, seededRandom(16))
    expect(heardBusy(lead, { busyOnAnySignal })).toBe(false)
    expect(heardBusy(joined(lead, voice), { busyOnAnySignal })).toBe(busyOnAnySignal)
  })
})
