import { describe, expect, it } from 'vitest'
import { whiteNoise } from '../../../../dsp/channel/noise.js'
import { createBasebandReceiver } from '../../../../dsp/modem/baseband/basebandReceiver.js'
import { modulateBasebandTransmission } from '../../../../dsp/modem/baseband/modulateBaseband.js'
import { transmissionDurationMs } from '../../../../dsp/modem/modulateTransmission.js'
import type { ReceivedFrame, ReceiverOptions } from '../../../../dsp/modem/receivedFrame.js'
import { meanPower } from '../../../../dsp/numbers/power.js'
import { seededRandom } from '../../../../src/runtime/random.js'
import { flatPort } from '../../../channel/flatPort.js'
import { hex, testFrame, withGaps } from '../receiving.js'

const transmission = { preambleMs: 60, tailMs: 5, peakLevel: 0.3 }

function receive(audio: Float32Array, options: ReceiverOptions, blockSamples = 960) {
  const receiver = createBasebandReceiver(options)
  const frames: ReceivedFrame[] = []
  for (let at = 0; at < audio.length; at += blockSamples)
    frames.push(...receiver.push(audio.subarray(at, at + blockSamples)))
  frames.push(...receiver.finish())
  return { frames, receiver, octets: frames.map((frame) => hex(frame.octets)) }
}

/** RMS of white noise for that Eb/N0 of a transmission's audio. */
const noiseRms = (signal: Float32Array, ebN0Db: number, sampleRateHz: number): number =>
  Math.sqrt(((meanPower(signal) / 9600 / 10 ** (ebN0Db / 10)) * sampleRateHz) / 2)

const rates = [19_200, 22_050, 24_000, 32_000, 44_100, 48_000, 96_000, 192_000]

it.each(rates)('frames of any length at %i Hz, in noise', (sampleRateHz) => {
  const random = seededRandom(sampleRateHz)
  const sent = [1, 70, 250, 900].map((length) => testFrame(length, random))
  const signal = modulateBasebandTransmission({ ...transmission, frames: sent, sampleRateHz })
  const rms = noiseRms(signal, 12, sampleRateHz)
  const audio = withGaps([signal, signal], 9000, rms, random)
  const noise = whiteNoise(audio.length, rms, random)
  const { octets, receiver } = receive(
    audio.map((sample, at) => sample + (audio[at] === 0 ? noise[at]! : 0)),
    { sampleRateHz, repair: 'none' },
  )
  expect(octets).toEqual([...sent, ...sent].map(hex))
  expect(receiver.counters).toEqual({ frames: 8, repaired: 0, fcsRejected: 0, implausible: 0 })
})

describe('at 48 kHz', () => {
  const sampleRateHz = 48_000
  const random = seededRandom(3)
  const frame = testFrame(54, random)
  const signal = modulateBasebandTransmission({ ...transmission, frames: [frame], sampleRateHz })
  const noisy = (audio: Float32Array, ebN0Db: number, seed: number): Float32Array => {
    const noise = whiteNoise(
      audio.length,
      noiseRms(signal, ebN0Db, sampleRateHz),
      seededRandom(seed),
    )
    return audio.map((sample, at) => sample + noise[at]!)
  }
  const gapped = withGaps([signal], 4000, 0, random)

  it('the length of a transmission is what is reckoned with', () => {
    const ms = transmissionDurationMs({ ...transmission, frames: [frame], bitRate: 9600 })
    expect(Math.abs((signal.length * 1000) / sampleRateHz - ms)).toBeLessThan(0.03)
  })

  it('the sign does not matter, nor an offset', () => {
    const upsideDown = gapped.map((sample) => -sample)
    const raised = gapped.map((sample) => 0.5 * sample + 0.08)
    for (const audio of [upsideDown, raised])
      expect(receive(audio, { sampleRateHz, repair: 'none' }).octets).toEqual([hex(frame)])
  })

  it('it says where the frame lies, and how good it was', () => {
    const [found] = receive(noisy(gapped, 15, 1), { sampleRateHz, repair: 'none' }).frames
    // Behind the gap 72 flags of preamble.
    const start = 4000 + 72 * 40
    expect(Math.abs(found!.firstSample - start)).toBeLessThan(6)
    const flagsAndFrame = signal.length - 72 * 40 - 6 * 40
    expect(Math.abs(found!.lastSample - (start + flagsAndFrame))).toBeLessThan(6)
    const { ebN0Db, levelDbfs, eyeOpening, toneBalanceDb, preambleFlags, symbolRateErrorPpm } =
      found!.quality
    expect(Math.abs(ebN0Db - 15)).toBeLessThan(1)
    expect(levelDbfs).toBeCloseTo(10 * Math.log10(meanPower(signal)), -0.3)
    expect(Math.abs(toneBalanceDb)).toBeLessThan(1)
    expect(Math.abs(symbolRateErrorPpm)).toBeLessThan(300)
    expect(eyeOpening).toBeGreaterThan(0.4)
    expect(preambleFlags).toBeGreaterThan(50)
  })

  it.each([-300, 300])('a clock that is off by %i ppm', (symbolRateErrorPpm) => {
    const sent = [testFrame(200, random), testFrame(200, random)]
    const options = { ...transmission, frames: sent, sampleRateHz, symbolRateErrorPpm }
    const off = withGaps([modulateBasebandTransmission(options)], 4000, 0, random)
    const { octets, frames } = receive(noisy(off, 11, 2), { sampleRateHz, repair: 'careful' })
    expect(octets).toEqual(sent.map(hex))
    for (const { quality } of frames)
      expect(Math.abs(quality.symbolRateErrorPpm - symbolRateErrorPpm)).toBeLessThan(100)
  })

  it('frames do not depend on the borders of blocks', () => {
    const many = withGaps([signal, signal, signal, signal], 3000, 0, random)
    const audio = noisy(many, 7, 4)
    const runs = [7, 960, audio.length].map((size) =>
      receive(audio, { sampleRateHz, repair: 'careful' }, size),
    )
    expect(runs[0]!.frames.length).toBeGreaterThan(1)
    for (const run of runs) {
      expect(run.frames).toEqual(runs[0]!.frames)
      expect(run.receiver.counters).toEqual(runs[0]!.receiver.counters)
    }
  })

  it('near its limit repair finds more, says so, and nothing that was not sent', () => {
    const sent = Array.from({ length: 40 }, () => testFrame(54, random))
    const parts = sent.map((one) =>
      modulateBasebandTransmission({ ...transmission, frames: [one], sampleRateHz }),
    )
    const audio = noisy(withGaps(parts, 2000, 0, random), 6.7, 5)
    const plain = receive(audio, { sampleRateHz, repair: 'none' })
    const careful = receive(audio, { sampleRateHz, repair: 'careful' })
    // The coherent bound of a frame is a half at 6.7 dB (test/bench/basebandBound.ts).
    expect(plain.frames.length).toBeGreaterThanOrEqual(12)
    expect(careful.frames.length).toBeGreaterThan(plain.frames.length + 5)
    expect(careful.frames.some(({ repairedBits }) => repairedBits > 0)).toBe(true)
    expect(careful.receiver.counters.repaired).toBe(
      careful.frames.filter(({ repairedBits }) => repairedBits > 0).length,
    )
    const known = new Set(sent.map(hex))
    for (const found of careful.octets) expect(known).toContain(found)
  })

  it('audio that a narrow radio bent is fitted', () => {
    // One pole at 1.5 kHz: 10.5 dB are lost at 4800 Hz, and the eye is closed.
    const bent = lowPassed(gapped, 1500)
    const [found] = receive(noisy(bent, 22, 6), { sampleRateHz, repair: 'careful' }).frames
    expect(hex(found!.octets)).toBe(hex(frame))
    expect(found!.quality.eyeOpening).toBeLessThan(0.1)
    // Of that pole 8.6 dB between 400 Hz and 4 kHz.
    expect(Math.abs(found!.quality.toneBalanceDb + 8.6)).toBeLessThan(0.5)
  })

  it('a data port of 4.5 kHz is good enough', () => {
    const narrow = flatPort(gapped, { sampleRateHz, lowHz: 40, highHz: 4500 })
    expect(receive(noisy(narrow, 14, 7), { sampleRateHz, repair: 'careful' }).octets).toEqual([
      hex(frame),
    ])
  })

  it('a frame longer than what is kept of its bits still lies where it lies', () => {
    const long = testFrame(1800, random)
    const one = modulateBasebandTransmission({ ...transmission, frames: [long], sampleRateHz })
    const { frames } = receive(withGaps([one], 4000, 0, random), { sampleRateHz, repair: 'none' })
    expect(frames.map(({ octets }) => hex(octets))).toEqual([hex(long)])
    expect(Math.abs(frames[0]!.firstSample - (4000 + 72 * 40))).toBeLessThan(8)
    expect(Math.abs(frames[0]!.lastSample - (4000 + one.length - 6 * 40))).toBeLessThan(8)
  })

  it('the same frame twice with a shared flag is two', () => {
    const twice = modulateBasebandTransmission({
      ...{ ...transmission, frames: [frame, frame], sampleRateHz },
    })
    const { octets } = receive(withGaps([twice], 3000, 0, random), {
      sampleRateHz,
      repair: 'eager',
    })
    expect(octets).toEqual([hex(frame), hex(frame)])
  })

  it('NaN and infinity do no lasting harm', () => {
    const broken = gapped.slice()
    broken.fill(Number.NaN, 0, 200)
    broken[300] = Number.POSITIVE_INFINITY
    expect(receive(broken, { sampleRateHz, repair: 'none' }).octets).toEqual([hex(frame)])
  })

  it('FX.25 is read, also where more is wrong than repair can know', () => {
    const coded = modulateBasebandTransmission({
      ...{ ...transmission, frames: [frame], sampleRateHz },
      code: { kind: 'fx25', checkOctets: 32 },
    })
    const audio = withGaps([coded], 3000, 0, random)
    const clean = receive(audio, { sampleRateHz, repair: 'none' }).frames
    expect(clean.map(({ code }) => code)).toEqual([{ kind: 'FX.25', correctedOctets: 0 }])
    // A hole of 10 bits amid the frame.
    audio.fill(0, 3000 + 2880 + 2400, 3000 + 2880 + 2450)
    const { frames } = receive(audio, { sampleRateHz, repair: 'none' })
    expect(frames.map(({ octets }) => hex(octets))).toEqual([hex(frame)])
    expect(frames[0]!.code!.correctedOctets).toBeGreaterThan(0)
  })

  it('what is damaged beyond repair is counted, and told where', () => {
    const damaged = gapped.slice()
    damaged.fill(0, 4000 + 2880 + 1000, 4000 + 2880 + 1300)
    const { receiver, frames } = receive(noisy(damaged, 20, 8), { sampleRateHz, repair: 'careful' })
    expect(frames).toEqual([])
    expect(receiver.counters.fcsRejected).toBe(1)
    const [segment] = receiver.takeDamaged()
    expect(segment!.firstSample).toBeGreaterThan(4000)
    expect(segment!.lastSample).toBeLessThan(4000 + signal.length)
    expect(receiver.takeDamaged()).toEqual([])
  })

  it('carrier detect follows within 20 ms, and hiss does not hold it', () => {
    const receiver = createBasebandReceiver({ sampleRateHz, repair: 'none' })
    const long = modulateBasebandTransmission({
      ...transmission,
      preambleMs: 300,
      frames: [frame],
      sampleRateHz,
    })
    const hiss = whiteNoise(48_000, 0.05, seededRandom(9))
    let busy = 0
    for (let at = 0; at < hiss.length; at += 480) {
      receiver.push(hiss.subarray(at, at + 480))
      if (receiver.channelBusy) busy++
    }
    expect(busy).toBeLessThanOrEqual(1)
    receiver.push(long.subarray(0, 960))
    expect(receiver.channelBusy).toBe(true)
    receiver.push(long.subarray(960))
    receiver.push(hiss.subarray(0, 1440))
    expect(receiver.channelBusy).toBe(false)
  })
})

it('rates that the signal does not fit are refused', () => {
  for (const sampleRateHz of [8000, 16_000, 300_000, Number.NaN])
    expect(() => createBasebandReceiver({ sampleRateHz, repair: 'none' })).toThrow(RangeError)
})

it('IL2P is not sent', () => {
  expect(() =>
    modulateBasebandTransmission({
      ...{ ...transmission, frames: [testFrame(5, seededRandom(1))], sampleRateHz: 48_000 },
      code: { kind: 'il2p', hasCrc: true },
    }),
  ).toThrow(RangeError)
})

/** One pole, at 48 kHz. */
function lowPassed(audio: Float32Array, cornerHz: number): Float32Array {
  const share = 1 - Math.exp((-2 * Math.PI * cornerHz) / 48_000)
  let value = 0
  return audio.map((sample) => {
    value += share * (sample - value)
    return value
  })
}
