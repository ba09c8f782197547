import { inflateSync } from 'node:zlib'
import { expect, it } from 'vitest'
import { inkPicture } from '../../src/cli/decode/report/png.js'

/** Layout and order of the chunks: PNG (W3C, third edition), sections 5.3 and 11.2; the check value of IEND is that of section 5. */
it('a picture in one ink is a PNG file that says its size, and holds each shade in its place', () => {
  const file = Buffer.from(
    inkPicture(3, 2, Float32Array.from([0, 1, 0.5, 2, -1, 1 / 15])).split(',')[1]!,
    'base64',
  )
  expect(file.subarray(0, 8).toString('hex')).toBe('89504e470d0a1a0a')
  const chunks = new Map<string, Buffer>()
  for (let at = 8; at < file.length; ) {
    const length = file.readUInt32BE(at)
    chunks.set(file.toString('latin1', at + 4, at + 8), file.subarray(at + 8, at + 8 + length))
    at += 12 + length
  }
  expect([...chunks.keys()]).toEqual(['IHDR', 'PLTE', 'tRNS', 'IDAT', 'IEND'])
  expect(chunks.get('IHDR')!.toString('hex')).toBe('00000003000000020403000000')
  expect(chunks.get('PLTE')).toHaveLength(48)
  expect([...chunks.get('tRNS')!]).toEqual(Array.from({ length: 16 }, (_, shade) => shade * 17))
  expect(inflateSync(chunks.get('IDAT')!).toString('hex')).toBe('000f8000f010')
  expect(file.subarray(-12).toString('hex')).toBe('0000000049454e44ae426082')
})
