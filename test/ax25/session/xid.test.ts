import fc from 'fast-check'
import { describe, expect, it } from 'vitest'
import { decodeFrame } from '../../../src/ax25/frame.js'
import { version20, version22 } from '../../../src/ax25/session/linkParameters.js'
import { decodeXid, encodeXid, negotiated } from '../../../src/ax25/session/xid.js'
import { published } from '../../published/ax25LinkRows.js'

const octets = (hex: string): Uint8Array =>
  Uint8Array.from(Buffer.from(hex.replaceAll(' ', ''), 'hex'))

describe('XID', () => {
  it('reads the published example (AX.25 v2.2, figure 4.6)', () => {
    const { octets_without_flags_and_fcs: hex } = published.xid.example_published
    const decoded = decodeFrame(octets(hex), { strict: true })
    if (!decoded.ok) throw new Error(decoded.reason)
    expect(decoded.frame.control).toEqual({ type: 'U', name: 'XID', pollFinal: false })
    expect(decoded.frame.command).toBe('command')
    expect(decodeXid(decoded.frame.payload)).toEqual({
      ok: true,
      value: {
        ...{ fullDuplex: false, selective: true, modulo: 128, segmenter: false },
        ...{ informationOctetsMax: 128, windowFramesMax: 2, t1Ms: 4096, triesMax: 3 },
      },
    })
  })

  it('writes the example but for the two bits that the text puts elsewhere: balanced, and SREJ alone', () => {
    const written = encodeXid({
      ...{ selective: true, modulo: 128, informationOctetsMax: 128 },
      ...{ windowFramesMax: 2, t1Ms: 4096, triesMax: 3 },
    })
    expect(Buffer.from(written).toString('hex')).toBe(
      '8280001702022100030384a802060204000801020902100' + '00a0103',
    )
  })

  it('reads what it writes', () => {
    const told = fc.record({
      fullDuplex: fc.boolean(),
      selective: fc.boolean(),
      modulo: fc.constantFrom(8 as const, 128 as const),
      segmenter: fc.boolean(),
      informationOctetsMax: fc.integer({ min: 1, max: 8191 }),
      windowFramesMax: fc.integer({ min: 1, max: 127 }),
      t1Ms: fc.nat(0xffff),
      triesMax: fc.nat(0xff),
    })
    fc.assert(
      fc.property(told, (one) => {
        expect(decodeXid(encodeXid(one))).toEqual({ ok: true, value: one })
      }),
    )
  })

  it('gives a value or a reason for whatever comes', () => {
    const head = fc.constant([0x82, 0x80])
    fc.assert(
      fc.property(head, fc.uint8Array({ maxLength: 60 }), (first, rest) => {
        expect(typeof decodeXid(Uint8Array.of(...first, ...rest)).ok).toBe('boolean')
      }),
    )
    expect(decodeXid(octets('82 80 00 05 02 02 22'))).toMatchObject({ ok: false })
    expect(decodeXid(octets('82 80 00 03 02 02 22'))).toMatchObject({ ok: false })
    expect(decodeXid(octets('82 80 00 00'))).toEqual({ ok: true, value: {} })
    expect(decodeXid(octets('82 80 00 03 7f 01 22'))).toEqual({ ok: true, value: {} })
  })

  it('settles on the lesser, and on the greater number of tries (6.3.2)', () => {
    expect(negotiated(version22, { selective: false, modulo: 8, windowFramesMax: 2 })).toEqual({
      ...version20,
      windowFramesMax: 2,
    })
    expect(
      negotiated({ ...version22, windowFramesMax: 4 }, { windowFramesMax: 100, triesMax: 20 }),
    ).toEqual({
      ...version22,
      ...{ windowFramesMax: 4, triesMax: 20 },
    })
    // SREJ leaves half of the numbers at most
    expect(negotiated({ ...version20, selective: true }, {}).windowFramesMax).toBe(4)
  })
})
