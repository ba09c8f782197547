// IL2P against fec.json: two frames as the text prints them, others computed by a program that reproduces these. Both ways.
import { describe, expect, it } from 'vitest'
import {
  decodeIl2pBody,
  decodeIl2pHeader,
  encodeIl2p,
  il2pHeaderOctets,
} from '../../dsp/fec/il2p.js'
import { headerOf } from '../../dsp/fec/il2pHeader.js'
import { fec, octetsOfHex } from './fec.js'

const { examples_published: published, examples_computed: computed } = fec.il2p

describe.each([
  ...published.map((row) => ['published', row] as const),
  ...computed.map((row) => ['computed', row] as const),
])('IL2P, %s', (_, row) => {
  const frame = octetsOfHex(row.ax25_without_fcs)
  const onAir = octetsOfHex(row.il2p_without_sync_word_with_trailing_crc)

  it('is sent as it is printed', () => {
    expect(encodeIl2p(frame)).toEqual(onAir)
    if ('header_before_scrambling' in row)
      expect(headerOf(frame).header).toEqual(octetsOfHex(row.header_before_scrambling))
  })

  it('comes back, whatever its check octets correct', () => {
    const heard = onAir.slice()
    heard[3]! ^= 0x40
    const start = decodeIl2pHeader(heard.subarray(0, il2pHeaderOctets))!
    for (let at = 0; start.bodyOctetCount > 0 && at < 8; at++) heard[15 + 2 * at]! ^= 0x11 + at
    // one wrong bit in each octet of the CRC
    for (let at = 0; at < 4; at++) heard[heard.length - 4 + at]! ^= 1 << at
    const body = heard.subarray(il2pHeaderOctets)
    expect(body).toHaveLength(start.bodyOctetCount + start.crcOctetCount)
    const decoded = decodeIl2pBody(start, body)!
    expect(decoded.octets).toEqual(frame)
    expect(decoded.crc).toBe('right')
    expect(decoded.correctedOctets).toBe(start.bodyOctetCount > 0 ? 9 : 1)
  })
})
