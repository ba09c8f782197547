// Short bursts on two receivers: who is told to have heard what, and when and where.
import { describe, expect, it } from 'vitest'
import { noiseRmsForEbN0, whiteNoise } from '../../../dsp/channel/noise.js'
import { createCombinedReceiver } from '../../../dsp/modem/combinedReceiver.js'
import { modulateTransmission } from '../../../dsp/modem/modulateTransmission.js'
import type { ReceivedFrame } from '../../../dsp/modem/receivedFrame.js'
import { meanPower } from '../../../dsp/numbers/power.js'
import { seededRandom } from '../../../src/runtime/random.js'
import { hex, testFrame } from './receiving.js'

const sampleRateHz = 24_000
const frame = testFrame(4, seededRandom(1))
const burstOf = (octets: Uint8Array): Float32Array =>
  modulateTransmission({
    ...{ frames: [octets], preambleMs: 60, tailMs: 10, sampleRateHz, peakLevel: 0.5 },
  })
const burst = burstOf(frame)
/** Behind nine flags of 160 samples. */
const frameAt = 1440

/** A signal at a place of one second, in noise. */
function heard(signal: Float32Array, at: number, ebN0Db: number, seed: number, samples = 24_000) {
  const audio = whiteNoise(
    samples,
    noiseRmsForEbN0(meanPower(burst), ebN0Db, sampleRateHz),
    seededRandom(seed),
  )
  signal.forEach((sample, index) => {
    audio[at + index]! += sample
  })
  return audio
}
const nothing = new Float32Array(0)

function receive(channels: readonly Float32Array[], rate = sampleRateHz, blockSamples = 960) {
  const combined = createCombinedReceiver(
    { sampleRateHz: rate, repair: 'careful' },
    channels.length,
  )
  const frames: ReceivedFrame[] = []
  const busy: boolean[] = []
  for (let at = 0; at < channels[0]!.length; at += blockSamples) {
    frames.push(...combined.push(channels.map((one) => one.subarray(at, at + blockSamples))))
    busy.push(combined.channelBusy)
  }
  const late = combined.finish()
  return { combined, frames: [...frames, ...late], late, busy }
}

describe('a frame', () => {
  it('that both hear is told once, and that both heard it', () => {
    const { combined, frames } = receive([heard(burst, 6000, 20, 1), heard(burst, 6000, 20, 2)])
    expect(frames.map(({ octets }) => hex(octets))).toEqual([hex(frame)])
    expect(Math.abs(frames[0]!.firstSample - 6000 - frameAt)).toBeLessThan(3)
    expect(combined.contributions).toEqual({ alone: [1, 1], joint: 0 })
    expect(combined.counters).toEqual({ frames: 1, repaired: 0, fcsRejected: 0, implausible: 0 })
  })

  it.each([0, 1])('that receiver %i alone hears is told, and that it did', (which) => {
    const channels = [0, 1].map((n) => heard(n === which ? burst : nothing, 6000, 20, n + 1))
    const { combined, frames } = receive(channels)
    expect(frames.map(({ octets }) => hex(octets))).toEqual([hex(frame)])
    expect(combined.contributions.alone).toEqual(which === 0 ? [1, 0] : [0, 1])
    expect(combined.counters.frames).toBe(1)
  })

  it('twice on the air is two', () => {
    const twice = new Float32Array(20_000)
    twice.set(burst, 0)
    twice.set(burst, 12_000)
    const { frames, combined } = receive([heard(twice, 2000, 20, 1), heard(twice, 2000, 20, 2)])
    expect(frames).toHaveLength(2)
    expect(frames[1]!.firstSample - frames[0]!.firstSample).toBeGreaterThan(11_990)
    expect(combined.contributions.alone).toEqual([2, 2])
  })

  it('another one at the same time, on the other receiver, is told as well', () => {
    // As long; and one more octet.
    const same = frame.slice()
    same[16] = 0x41
    for (const other of [same, Uint8Array.of(...frame, 0x42)]) {
      const { frames, combined } = receive([
        heard(burst, 6000, 25, 1),
        heard(burstOf(other), 6000, 25, 2),
      ])
      const told = frames.map(({ octets }) => hex(octets))
      expect(told).toContain(hex(frame))
      expect(told).toContain(hex(other))
      expect(combined.contributions.alone).toEqual([1, 1])
    }
  })

  it('comes in the order of their ends, whoever heard it', () => {
    const longer = testFrame(8, seededRandom(2))
    const channels = [heard(burstOf(longer), 6000, 25, 1), heard(burst, 6000, 25, 2)]
    const { frames } = receive(channels, sampleRateHz, 24_000)
    expect(frames.map(({ octets }) => hex(octets))).toEqual([hex(frame), hex(longer)])
  })

  it('that ends with the audio comes at the end of the stream, once', () => {
    const end = 6000 + burst.length - 320
    const channels = [1, 2].map((seed) => heard(burst, 6000, 25, seed).subarray(0, end))
    const { frames, late } = receive(channels)
    expect(late.map(({ octets }) => hex(octets))).toEqual([hex(frame)])
    expect(frames).toHaveLength(1)
  })
})

describe('what is counted', () => {
  it('damaged and implausible ones are those of all receivers', () => {
    const noAddress = burstOf(new Uint8Array(20).fill(0x33))
    const broken = burst.slice()
    broken.set(burstOf(testFrame(60, seededRandom(9))).subarray(3000, 3900), 3500)
    const { combined, frames } = receive([
      heard(noAddress, 6000, 25, 1),
      heard(broken, 6000, 25, 2),
    ])
    expect(frames).toEqual([])
    expect(combined.counters).toMatchObject({ frames: 0, implausible: 1, fcsRejected: 1 })
    const damaged = combined.takeDamaged()
    expect(damaged).toHaveLength(1)
    expect(Math.abs(damaged[0]!.firstSample - 6000 - frameAt)).toBeLessThan(600)
    expect(combined.takeDamaged()).toEqual([])
  })
})

describe('busy', () => {
  it.each([0, 1])('by what receiver %i alone hears', (which) => {
    const channels = [0, 1].map((n) => heard(n === which ? burst : nothing, 6000, 20, n + 1))
    const { busy } = receive(channels)
    // Blocks of 40 ms; the burst lasts from 250 to 486 ms.
    expect(busy.slice(8, 11)).toEqual([true, true, true])
    expect(busy.slice(15)).toEqual(new Array(busy.length - 15).fill(false))
  })
})

const low = modulateTransmission({
  ...{ frames: [frame], preambleMs: 60, tailMs: 10, sampleRateHz: 12_000, peakLevel: 0.5 },
})

it('at 12 kHz, where no mixture can be made, it is the receivers alone', () => {
  const channels = [1, 2].map((seed) => heard(low, 3000, 20, seed, 12_000))
  const { combined, frames } = receive(channels, 12_000)
  expect(frames.map(({ octets }) => hex(octets))).toEqual([hex(frame)])
  expect(combined.contributions).toEqual({ alone: [1, 1], joint: 0 })
})

// At 3 and 4 dB Eb/N0 neither reads it by itself. Seeds for which both together do.
it.each([
  [3, 4],
  [4, 12],
])(
  'what both only hear together, at %f dB, seed %i, counts as heard jointly and repaired',
  (ebN0Db, seed) => {
    const channels = [seed, seed + 100].map((one) => {
      const rms = noiseRmsForEbN0(meanPower(low), ebN0Db, 12_000)
      const audio = whiteNoise(9000, rms, seededRandom(one))
      low.forEach((sample, at) => {
        audio[3000 + at]! += sample
      })
      return audio
    })
    const { combined, frames } = receive(channels, 12_000)
    expect(frames.map(({ octets, copies }) => [hex(octets), copies])).toEqual([[hex(frame), 2]])
    expect(combined.contributions).toEqual({ alone: [0, 0], joint: 1 })
    expect(combined.counters).toMatchObject({ frames: 1, repaired: 1, implausible: 0 })
  },
)

describe('what the mixture alone hears', () => {
  // One antenna after the other is in a fade, where all is noise of a discriminator.
  const fade = (first: boolean, seed: number): Float32Array => {
    const audio = heard(burst, 6000, 30, seed)
    const noise = whiteNoise(audio.length, 1, seededRandom(seed + 10))
    const middle = 6000 + frameAt + 2000
    return audio.map((sample, at) =>
      at < 6000 || at > 6000 + burst.length || at < middle !== first ? sample : noise[at]!,
    )
  }
  const channels = [fade(true, 1), fade(false, 2)]
  /** Opening flag, frame and FCS with three inserted zeros, closing flag. */
  const frameEnd = 6000 + frameAt + 20 * (8 + 8 * 22 + 3 + 8)

  it('counts as heard jointly, at the place where it was', () => {
    const { combined, frames } = receive(channels)
    expect(frames.map(({ octets }) => hex(octets))).toEqual([hex(frame)])
    expect(combined.contributions).toEqual({ alone: [0, 0], joint: 1 })
    expect(Math.abs(frames[0]!.firstSample - 6000 - frameAt)).toBeLessThan(6)
    expect(Math.abs(frames[0]!.lastSample - frameEnd)).toBeLessThan(6)
    expect(combined.counters.frames).toBe(1)
  })

  it('comes at the end of the stream where it ends with the audio', () => {
    const { combined, late } = receive(channels.map((one) => one.subarray(0, frameEnd + 60)))
    expect(late.map(({ octets }) => hex(octets))).toEqual([hex(frame)])
    expect(combined.contributions.joint).toBe(1)
  })
})
