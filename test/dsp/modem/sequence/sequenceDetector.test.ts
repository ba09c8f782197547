import { describe, expect, it } from 'vitest'
import { noiseRmsForEbN0, whiteNoise } from '../../../../dsp/channel/noise.js'
import type { CandidateFrame } from '../../../../dsp/modem/detector.js'
import { modulateTransmission } from '../../../../dsp/modem/modulateTransmission.js'
import type { RepairLevel } from '../../../../dsp/modem/receivedFrame.js'
import { createSequenceDetector } from '../../../../dsp/modem/sequence/sequenceDetector.js'
import { meanPower } from '../../../../dsp/numbers/power.js'
import type { Random } from '../../../../src/runtime/random.js'
import { seededRandom } from '../../../../src/runtime/random.js'
import { addNoise } from '../../../channel/addNoise.js'
import { hex, testFrame } from '../receiving.js'

const sampleRateHz = 12_000

interface Path {
  readonly ebN0Db: number
  readonly preambleMs?: number
  readonly toneBalanceDb?: number
  readonly toneOffsetHz?: number
  readonly symbolRateErrorPpm?: number
}

/** One frame a transmission, noise of the same level before, in and after each. */
function transmissions(frames: readonly Uint8Array[], path: Path, random: Random): Float32Array {
  const { ebN0Db, ...sender } = path
  const parts = frames.map((frame) =>
    modulateTransmission({
      frames: [frame],
      preambleMs: 160,
      tailMs: 15,
      sampleRateHz,
      peakLevel: 0.4,
      ...sender,
    }),
  )
  const rms = noiseRmsForEbN0(meanPower(parts[0]!), ebN0Db, sampleRateHz)
  const gap = 2000
  const audio = new Float32Array(parts.reduce((sum, part) => sum + part.length + gap, gap))
  let at = gap
  for (const part of parts) {
    audio.set(part, at)
    at += part.length + gap
  }
  return addNoise(audio, rms, random)
}

function detect(audio: Float32Array, repair: RepairLevel, blockSamples = 600): CandidateFrame[] {
  const found: CandidateFrame[] = []
  const detector = createSequenceDetector(
    { frame: (frame) => found.push(frame), damaged: () => undefined },
    repair,
  )
  for (let at = 0; at < audio.length; at += blockSamples)
    detector.process(audio.subarray(at, at + blockSamples))
  detector.finish?.()
  return found
}

const framesOf = (count: number, random: Random): Uint8Array[] =>
  Array.from({ length: count }, () => testFrame(54, random))

function countRight(found: readonly CandidateFrame[], sent: readonly Uint8Array[]): number {
  const seen = new Set(found.map((frame) => hex(frame.octets)))
  return sent.filter((frame) => seen.has(hex(frame))).length
}

describe('sequence detector', () => {
  // Noncoherent one-symbol receivers lose nearly every one of these: their half point lies at 9.7 dB or above.
  it.each<[string, Path, RepairLevel, number]>([
    ['white noise at 6 dB, with repair', { ebN0Db: 6 }, 'careful', 20],
    ['white noise at 7 dB, without', { ebN0Db: 7 }, 'none', 19],
    ['weak space tone', { ebN0Db: 8, toneBalanceDb: -8 }, 'careful', 21],
    ['strong space tone', { ebN0Db: 8, toneBalanceDb: 8 }, 'careful', 19],
    [
      'tones 60 Hz up, 300 ppm fast',
      { ebN0Db: 7, toneOffsetHz: 60, symbolRateErrorPpm: 300 },
      'careful',
      21,
    ],
    ['tones 100 Hz down', { ebN0Db: 8, toneOffsetHz: -100 }, 'careful', 21],
    ['1 % fast', { ebN0Db: 9, symbolRateErrorPpm: 10_000 }, 'careful', 20],
    ['4 % fast', { ebN0Db: 18, symbolRateErrorPpm: 40_000 }, 'careful', 20],
    ['preamble of 8 flags', { ebN0Db: 7, preambleMs: 53.3 }, 'careful', 21],
  ])('%s', (_name, path, repair, least) => {
    const random = seededRandom(31)
    const sent = framesOf(24, random)
    const found = detect(transmissions(sent, path, random), repair)
    expect(countRight(found, sent)).toBeGreaterThanOrEqual(least)
    expect(
      countRight(
        sent.map((octets) => ({ octets }) as CandidateFrame),
        found.map((f) => f.octets),
      ),
    ).toBe(found.length)
  })

  it('says of repaired frames that they are, and finds more with more repair', () => {
    const random = seededRandom(32)
    const sent = framesOf(30, random)
    const audio = transmissions(sent, { ebN0Db: 5.4 }, random)
    const none = detect(audio, 'none')
    const careful = detect(audio, 'careful')
    expect(none.every((frame) => frame.repairedBits === 0)).toBe(true)
    expect(countRight(careful, sent)).toBeGreaterThan(countRight(none, sent) + 3)
    expect(careful.some((frame) => frame.repairedBits === 1)).toBe(true)
  })

  it('finds the same frames whatever the blocks', () => {
    const random = seededRandom(33)
    const audio = transmissions(framesOf(4, random), { ebN0Db: 6.5 }, random)
    const whole = detect(audio, 'careful', audio.length)
    expect(whole.length).toBeGreaterThan(2)
    for (const blockSamples of [1, 37, 5000])
      expect(detect(audio, 'careful', blockSamples)).toEqual(whole)
  })

  it('tells where a frame lies, to half a symbol', () => {
    const random = seededRandom(34)
    const frame = testFrame(60, random)
    const quiet = addNoise(new Float32Array(3000), 0.001, random)
    const signal = modulateTransmission({
      frames: [frame],
      preambleMs: 160,
      tailMs: 0,
      sampleRateHz,
      peakLevel: 0.4,
    })
    const audio = new Float32Array(2 * quiet.length + signal.length)
    audio.set(quiet)
    audio.set(signal, quiet.length)
    audio.set(quiet, quiet.length + signal.length)
    const [found] = detect(audio, 'none')
    expect(Math.abs(found!.endSample - (quiet.length + signal.length))).toBeLessThan(5)
    expect(found!.precedingFlags).toBeGreaterThan(15)
  })

  it('two minutes of noise, and of silence, give nothing', () => {
    expect(detect(whiteNoise(120 * sampleRateHz, 0.3, seededRandom(35)), 'eager')).toEqual([])
    expect(detect(new Float32Array(5 * sampleRateHz), 'eager')).toEqual([])
  })
})
