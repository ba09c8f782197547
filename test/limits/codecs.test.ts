import { describe, expect, it } from 'vitest'
import { createHdlcDecoder, type HdlcSegment } from '../../dsp/framing/hdlcDecoder.js'
import { encodeHdlc } from '../../dsp/framing/hdlcEncoder.js'
import { formatPosition, formatStatus } from '../../src/aprs/format.js'
import { fitsMessage, messageTextProblem } from '../../src/aprs/messageText.js'
import { parsePayload } from '../../src/aprs/parse.js'
import { repeatPath } from '../../src/aprs/path.js'
import { parseAddress } from '../../src/ax25/address.js'
import { decodeFrame, encodeFrame, uiFrame } from '../../src/ax25/frame.js'
import { checkClientFrame } from '../../src/radio/clientFrame.js'

/** Each limit of the codecs at n, and one beyond it. */

const call = (text: string) => {
  const address = parseAddress(text)
  if (!address.ok) throw new Error(text)
  return address.value
}

/** Bits through a decoder that tells wrong check sequences, too. */
function decoded(bits: Iterable<number>) {
  const segments: HdlcSegment[] = []
  const decoder = createHdlcDecoder({ wrongFcsToo: true }, (segment) => segments.push(segment))
  let at = 0
  for (const bit of bits) decoder.push(bit, at++)
  return { segments, counters: decoder.counters }
}

const framed = (octetCount: number): Uint8Array =>
  encodeHdlc({
    frames: [new Uint8Array(octetCount).fill(0xa5)],
    leadingFlags: 1,
    trailingFlags: 1,
  })

describe('HDLC', () => {
  it.each([
    // with the two octets of the check sequence: 17 at least, 2048 at most
    [14, 'tooShort', 0],
    [15, 'rightFcs', 1],
    [2046, 'rightFcs', 1],
    [2047, 'tooLong', 0],
  ] as const)('a frame of %i octets and its FCS: %s', (octetCount, counter, frameCount) => {
    const { segments, counters } = decoded(framed(octetCount))
    expect(segments).toHaveLength(frameCount)
    expect(counters[counter]).toBe(1)
  })

  const flag = [0, 1, 1, 1, 1, 1, 1, 0]
  const content = Array.from({ length: 200 }, (_, index) => index % 2)

  it.each([
    [5, { flags: 2, aborted: 0 }],
    [6, { flags: 3, aborted: 0 }],
    [7, { flags: 2, aborted: 1 }],
  ])('%i ones in a row: content, a flag, an abort', (count, wanted) => {
    const ones = new Array<number>(count).fill(1)
    expect(decoded([...flag, ...content, 0, ...ones, 0, ...flag]).counters).toMatchObject(wanted)
  })

  it('the zero after five ones is taken out, that after four is not', () => {
    const rest = [...content, ...new Array<number>(3).fill(0)]
    const count = (ones: number): number =>
      decoded([...flag, ...new Array<number>(ones).fill(1), 0, ...rest, ...flag]).segments[0]!
        .octetsWithFcs.length
    // 4 + 1 + 203 bits are 26 octets; 5 + 203 are, too, but for the zero that is gone
    expect([count(4), count(5)]).toEqual([26, 26])
    expect(decoded([...flag, 1, 1, 1, 1, 1, 0, ...rest.slice(1), ...flag]).counters.unaligned).toBe(
      1,
    )
  })
})

const frameWith = (digipeaters: number, octets = 10): Uint8Array =>
  encodeFrame(
    uiFrame({
      ...{ source: call('Q1ABC-1'), destination: call('APZ001') },
      path: Array.from({ length: digipeaters }, (_, index) => call(`Q1DIG-${index}`)),
      payload: new Uint8Array(octets).fill(65),
    }),
  )

describe('AX.25', () => {
  it('has at most 8 digipeaters, read strictly, and from clients', () => {
    expect(decodeFrame(frameWith(8), { strict: true }).ok).toBe(true)
    expect(decodeFrame(frameWith(9), { strict: true }).ok).toBe(false)
    expect(checkClientFrame(frameWith(8)).ok).toBe(true)
    expect(checkClientFrame(frameWith(9)).ok).toBe(false)
  })

  it('a digipeater adds itself before a counted alias up to the eighth address', () => {
    const path = (count: number) => [
      ...Array.from({ length: count - 1 }, (_, index) => ({
        address: call(`Q1DIG-${index}`),
        repeated: true,
      })),
      { address: call('WIDE2-2'), repeated: false },
    ]
    const repeated = (count: number) => {
      const result = repeatPath(path(count), call('Q1OWN'))
      return result.repeat ? result.path.length : 0
    }
    expect([repeated(7), repeated(8)]).toEqual([8, 8])
  })

  it('carries at most 1024 octets of information of a client', () => {
    expect(checkClientFrame(frameWith(0, 1024)).ok).toBe(true)
    expect(checkClientFrame(frameWith(0, 1025)).ok).toBe(false)
  })

  it('begins with at least fifteen octets', () => {
    const octets = frameWith(0).subarray(0, 15)
    expect(decodeFrame(octets).ok).toBe(true)
    expect(decodeFrame(octets.subarray(0, 14)).ok).toBe(false)
  })
})

describe('messages and beacons', () => {
  it('a message has at most 67 characters, and 239 octets', () => {
    expect(fitsMessage('x'.repeat(67))).toBe(true)
    expect(fitsMessage('x'.repeat(68))).toBe(false)
    expect(messageTextProblem('x'.repeat(67))).toBeUndefined()
    expect(messageTextProblem('x'.repeat(68))).toMatch(/^68 characters/)
    // 59 characters of four octets, and three of one
    const octets239 = `${'\u{1f33b}'.repeat(59)}abc`
    expect(fitsMessage(octets239)).toBe(true)
    expect(fitsMessage(`${octets239}d`)).toBe(false)
    expect(messageTextProblem(octets239)).toBeUndefined()
    expect(messageTextProblem(`${octets239}d`)).toMatch(/^240 octets/)
  })

  it('a status has at most 62 characters, 55 behind a time', () => {
    expect(() => formatStatus({ text: 'x'.repeat(62) })).not.toThrow()
    expect(() => formatStatus({ text: 'x'.repeat(63) })).toThrow(RangeError)
    expect(() => formatStatus({ text: 'x'.repeat(55), atWallMs: 0 })).not.toThrow()
    expect(() => formatStatus({ text: 'x'.repeat(56), atWallMs: 0 })).toThrow(RangeError)
  })

  it('a comment has at most 43 characters', () => {
    const at = {
      ...{ latitudeDeg: 45, longitudeDeg: -36, symbol: { table: '/', code: 'r' } },
      messaging: true,
    }
    expect(() => formatPosition({ ...at, comment: 'x'.repeat(43) })).not.toThrow()
    expect(() => formatPosition({ ...at, comment: 'x'.repeat(44) })).toThrow(RangeError)
  })

  it('third-party headers are opened three deep', () => {
    const wrapped = (depth: number): string =>
      depth === 0 ? '>here' : `}Q1AB-${depth}>APZ001,Q1TCP*:${wrapped(depth - 1)}`
    const kindAt = (depth: number): string => {
      let payload = parsePayload(Buffer.from(wrapped(depth), 'latin1'), 'APZ001')
      while (payload.kind === 'thirdParty') payload = payload.payload
      return payload.kind
    }
    expect([kindAt(3), kindAt(4)]).toEqual(['status', 'unreadable'])
  })

  it('a position may begin up to the fortieth character', () => {
    const kindWith = (count: number): string =>
      parsePayload(Buffer.from(`${'X'.repeat(count)}!4500.00N/03600.00Wr`), 'APZ001').kind
    expect([kindWith(39), kindWith(40)]).toEqual([
      'position',
      expect.not.stringMatching('position'),
    ])
  })
})
