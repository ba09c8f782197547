// What a transmission is made of, bit by bit, and how long it lasts.
import { describe, expect, it } from 'vitest'
import { encodeFx25 } from '../../../dsp/fec/fx25.js'
import { il2pLevels } from '../../../dsp/fec/il2pStream.js'
import { encodeHdlc } from '../../../dsp/framing/hdlcEncoder.js'
import { encodeNrzi } from '../../../dsp/framing/nrzi.js'
import {
  transmissionDurationMs,
  transmissionLevels,
} from '../../../dsp/modem/modulateTransmission.js'
import { seededRandom } from '../../../src/runtime/random.js'
import { testFrame } from './receiving.js'

const [short, other] = [testFrame(20, seededRandom(1)), testFrame(40, seededRandom(2))]
/** Too long for a block with 64 check octets, of which 191 may be data. */
const long = testFrame(200, seededRandom(3))
/** 300 ms are 45 flags and 20 ms are 3; opening and closing flag come on top. */
const times = { preambleMs: 300, tailMs: 20 }
const flags = { leadingFlags: 46, trailingFlags: 4 }

const durationOf = (levels: Uint8Array): number => levels.length / 1.2
const fill = (count: number): Uint8Array =>
  encodeHdlc({ frames: [], leadingFlags: 1, trailingFlags: 60 }).subarray(0, 8 * count)
const nrziOf = (...parts: readonly Uint8Array[]): Uint8Array =>
  encodeNrzi(Uint8Array.from(parts.flatMap((part) => [...part])))

describe('a plain transmission', () => {
  it.each([
    ['no frame', []],
    ['one', [short]],
    ['two, with one flag between them', [short, other]],
  ])('%s', (_what, frames) => {
    const levels = transmissionLevels({ frames, ...times })
    expect(levels).toEqual(encodeNrzi(encodeHdlc({ frames, ...flags })))
    expect(transmissionDurationMs({ frames, ...times })).toBeCloseTo(durationOf(levels), 9)
  })

  // A flag takes 8000 / 1200 = 6.67 ms.
  it.each([
    [0, 0],
    [0.1, 1],
    [6.66, 1],
    [6.67, 2],
    [300, 45],
    [300.1, 46],
    [60_000, 9000],
  ])('%f ms of flags are %i', (ms, count) => {
    const bits = 8 * (count + 1)
    expect(transmissionLevels({ frames: [], preambleMs: ms, tailMs: 0 })).toHaveLength(bits + 8)
    expect(transmissionLevels({ frames: [], preambleMs: 0, tailMs: ms })).toHaveLength(bits + 8)
  })

  it.each([-0.1, 60_000.1, Number.NaN])('%f ms of flags are refused', (ms) => {
    const message = `transmission: got ${ms} ms of flags, expected 0 to 60000 ms`
    expect(() => transmissionLevels({ frames: [], preambleMs: ms, tailMs: 0 })).toThrow(message)
    expect(() => transmissionDurationMs({ frames: [], preambleMs: 0, tailMs: ms })).toThrow(message)
  })

  it('at 9600 bit/s as many milliseconds have eight times as many flags', () => {
    const options = { frames: [short], preambleMs: 10, tailMs: 5, bitRate: 9600 } as const
    const levels = transmissionLevels(options)
    expect(levels).toEqual(
      encodeNrzi(encodeHdlc({ frames: [short], leadingFlags: 13, trailingFlags: 7 })),
    )
    expect(transmissionDurationMs(options)).toBeCloseTo(levels.length / 9.6, 9)
  })

  it('of a symbol rate that is a tenth higher it lasts as much less', () => {
    const duration = transmissionDurationMs({ frames: [short], ...times })
    expect(
      transmissionDurationMs({ frames: [short], ...times, symbolRateErrorPpm: 100_000 }),
    ).toBeCloseTo(duration / 1.1, 9)
  })
})

describe('with FX.25', () => {
  const code = { kind: 'fx25', checkOctets: 64 } as const
  const blockOf = (frame: Uint8Array): Uint8Array => encodeFx25(frame, 64)!
  const plain = (frame: Uint8Array): Uint8Array =>
    encodeHdlc({ frames: [frame], leadingFlags: 1, trailingFlags: 1 })

  it.each([
    ['no frame has flags alone', [], [fill(50)]],
    ['one is a block between flags', [short], [fill(46), blockOf(short), fill(4)]],
    [
      'between two blocks stands one flag',
      [short, other],
      [fill(46), blockOf(short), fill(1), blockOf(other), fill(4)],
    ],
    [
      'one that is too long goes out plain, the others do not',
      [short, long, other],
      [...[fill(46), blockOf(short), fill(1), plain(long), fill(1), blockOf(other)], fill(4)],
    ],
  ])('%s', (_what, frames, parts) => {
    const levels = transmissionLevels({ frames, ...times, code })
    expect(levels).toEqual(nrziOf(...parts))
    expect(transmissionDurationMs({ frames, ...times, code })).toBeCloseTo(durationOf(levels), 9)
  })
})

describe('with IL2P', () => {
  it.each([true, false])('alternating octets stand in place of flags, with a CRC: %s', (hasCrc) => {
    const code = { kind: 'il2p', hasCrc } as const
    const frames = [short, other]
    const levels = transmissionLevels({ frames, ...times, code })
    expect(levels).toEqual(il2pLevels({ frames, leadingOctets: 46, trailingOctets: 4, hasCrc }))
    expect(transmissionDurationMs({ frames, ...times, code })).toBeCloseTo(durationOf(levels), 9)
  })

  it('where one frame is too long all go out plain', () => {
    const frames = [short, testFrame(1100, seededRandom(4))]
    const code = { kind: 'il2p', hasCrc: true } as const
    const levels = transmissionLevels({ frames, ...times, code })
    expect(levels).toEqual(encodeNrzi(encodeHdlc({ frames, ...flags })))
    expect(transmissionDurationMs({ frames, ...times, code })).toBeCloseTo(durationOf(levels), 9)
  })
})
