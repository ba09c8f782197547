// Frames with forward error correction through the whole receiver.
import { describe, expect, it } from 'vitest'
import { noiseRmsForEbN0 } from '../../../dsp/channel/noise.js'
import type { Fx25CheckOctetCount } from '../../../dsp/fec/fx25.js'
import { il2pLevels } from '../../../dsp/fec/il2pStream.js'
import { modulateTransmission } from '../../../dsp/modem/modulateTransmission.js'
import { modulateLevels } from '../../../dsp/modem/modulator.js'
import { meanPower } from '../../../dsp/numbers/power.js'
import { type Random, seededRandom } from '../../../src/runtime/random.js'
import { addNoise } from '../../channel/addNoise.js'
import { hex, receiveAll, testFrame, withGaps } from './receiving.js'

const sampleRateHz = 12_000
const transmission = { preambleMs: 200, tailMs: 20, peakLevel: 0.1, sampleRateHz }

const coded = (frames: readonly Uint8Array[], checkOctets: Fx25CheckOctetCount): Float32Array =>
  modulateTransmission({ ...transmission, frames, code: { kind: 'fx25', checkOctets } })

const noisy = (signal: Float32Array, ebN0Db: number, random: Random): Float32Array =>
  addNoise(
    withGaps([signal], 6000, 0, random),
    noiseRmsForEbN0(meanPower(signal), ebN0Db, sampleRateHz),
    random,
  )

describe('FX.25 through the receiver', () => {
  it('frames of one transmission come once each, and say what was corrected', () => {
    const random = seededRandom(5)
    const sent = [20, 60, 200].map((length) => testFrame(length, random))
    const { frames, receiver } = receiveAll(noisy(coded(sent, 16), 14, random), {
      sampleRateHz,
      repair: 'none',
    })
    expect(frames.map(({ octets }) => hex(octets))).toEqual(sent.map(hex))
    expect(receiver.counters.fcsRejected).toBe(0)
  })

  it('a frame too long for the code goes out plain', () => {
    const random = seededRandom(6)
    const long = testFrame(250, random)
    const { frames } = receiveAll(noisy(coded([long], 64), 20, random), {
      sampleRateHz,
      repair: 'none',
    })
    expect(frames.map(({ octets }) => hex(octets))).toEqual([hex(long)])
    expect(frames[0]!.code).toBeUndefined()
  })

  it('what noise damages beyond reading is corrected, and is not counted as damaged', () => {
    const random = seededRandom(7)
    let plainCount = 0
    let corrected = 0
    for (let count = 0; count < 6; count++) {
      const frame = testFrame(56, random)
      const plain = modulateTransmission({ ...transmission, frames: [frame] })
      const options = { sampleRateHz, repair: 'none' } as const
      plainCount += receiveAll(noisy(plain, 4.5, random), options).frames.length
      const { frames, receiver } = receiveAll(noisy(coded([frame], 32), 4.5, random), options)
      expect(frames.map(({ octets }) => hex(octets))).toEqual([hex(frame)])
      expect(frames[0]!.repairedBits).toBe(0)
      expect(frames[0]!.code?.kind).toBe('FX.25')
      expect(receiver.counters.fcsRejected).toBe(0)
      corrected += frames[0]!.code!.correctedOctets
    }
    expect(plainCount).toBeLessThan(4)
    expect(corrected).toBeGreaterThan(12)
  })

  it('a block that breaks off loses nothing that comes after it', () => {
    const random = seededRandom(8)
    const [first, second] = [testFrame(60, random), testFrame(30, random)]
    const cut = coded([first], 64).slice(0, Math.round(0.5 * sampleRateHz))
    const after = modulateTransmission({ ...transmission, frames: [second] })
    const audio = withGaps([cut, after], 1200, 0.002, random)
    const { frames } = receiveAll(audio, { sampleRateHz, repair: 'careful' })
    expect(frames.map(({ octets }) => hex(octets))).toEqual([hex(second)])
  })
})

describe('IL2P through the receiver', () => {
  const il2p = (frames: readonly Uint8Array[], hasCrc: boolean): Float32Array =>
    modulateTransmission({ ...transmission, frames, code: { kind: 'il2p', hasCrc } })
  const reading = { sampleRateHz, repair: 'none', il2p: true } as const

  it.each([true, false])('frames of one transmission come once each, with CRC: %s', (hasCrc) => {
    const random = seededRandom(11)
    const sent = [20, 60, 250].map((length) => testFrame(length, random))
    const { frames } = receiveAll(noisy(il2p(sent, hasCrc), 12, random), reading)
    expect(frames.map(({ octets }) => hex(octets))).toEqual(sent.map(hex))
    expect(frames.map(({ code }) => code?.kind)).toEqual(['IL2P', 'IL2P', 'IL2P'])
    for (const { quality } of frames) {
      expect(Math.abs(quality.ebN0Db - 12)).toBeLessThan(1)
      expect(Math.abs(quality.toneOffsetHz)).toBeLessThan(3)
    }
  })

  it('is not read unless asked for, and gives no frame then', () => {
    const random = seededRandom(12)
    const signal = noisy(il2p([testFrame(60, random)], true), 20, random)
    expect(receiveAll(signal, { sampleRateHz, repair: 'eager' }).frames).toEqual([])
  })

  it('what noise damages is corrected', () => {
    const random = seededRandom(13)
    const sent = Array.from({ length: 6 }, () => testFrame(56, random))
    const found = sent.flatMap((frame) =>
      receiveAll(noisy(il2p([frame], true), 5, random), reading).frames.filter(
        ({ octets }) => hex(octets) === hex(frame),
      ),
    )
    expect(found.length).toBeGreaterThan(4)
    expect(found.some(({ code }) => code!.correctedOctets > 2)).toBe(true)
  })

  it('plain frames are read beside it', () => {
    const random = seededRandom(14)
    const [plain, coded] = [testFrame(30, random), testFrame(30, random)]
    const audio = withGaps(
      [modulateTransmission({ ...transmission, frames: [plain] }), il2p([coded], true)],
      3000,
      0.003,
      random,
    )
    const { frames } = receiveAll(audio, reading)
    expect(frames.map(({ octets }) => hex(octets))).toEqual([plain, coded].map(hex))
  })
})

it.each([true, false])('IL2P: a header that had to be corrected needs a CRC, here %s', (hasCrc) => {
  const random = seededRandom(9)
  const frame = testFrame(56, random)
  const leadingOctets = 30
  const levels = il2pLevels({ frames: [frame], leadingOctets, trailingOctets: 3, hasCrc })!
  // The fourth octet of the header, behind a sync word of three.
  const at = 8 * (leadingOctets + 3 + 3)
  for (const wrong of [0, 1]) {
    levels[at] = levels[at]! ^ wrong
    const audio = withGaps([modulateLevels(levels, transmission)], 6000, 0, random)
    const options = { sampleRateHz, repair: 'careful', il2p: true } as const
    const { frames } = receiveAll(addNoise(audio, 0.001, random), options)
    expect(frames.map(({ octets }) => hex(octets))).toEqual(
      hasCrc || wrong === 0 ? [hex(frame)] : [],
    )
  }
})
