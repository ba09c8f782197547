import { deflateSync } from 'node:zlib'
import crc32 from 'crc/crc32'

/** The ink of the pictures; what stands on a dark ground inverts them. */
const ink = [0x1b, 0x24, 0x20] as const
const shades = 16

/**
 * A picture in one ink on nothing, in 16 steps from clear to full, as a PNG file in a data URI.
 * @param darkness row by row, 0 to 1
 * @see Portable Network Graphics (PNG) Specification (W3C, third edition), sections 5 and 11
 */
export function inkPicture(width: number, height: number, darkness: Float32Array): string {
  const rowOctets = 1 + Math.ceil(width / 2)
  const lines = new Uint8Array(rowOctets * height)
  for (let row = 0; row < height; row++)
    for (let column = 0; column < width; column++) {
      const shade = Math.round(
        (shades - 1) * Math.max(0, Math.min(1, darkness[row * width + column]!)),
      )
      // The first octet of a row names its filter: none.
      lines[row * rowOctets + 1 + (column >> 1)]! |= column % 2 === 0 ? shade << 4 : shade
    }
  const header = Buffer.alloc(13)
  header.writeUInt32BE(width, 0)
  header.writeUInt32BE(height, 4)
  // four bits a pixel, which are numbers in a palette
  header.set([4, 3, 0, 0, 0], 8)
  const palette = Array.from({ length: shades }, () => ink).flat()
  const clear = Array.from({ length: shades }, (_, shade) => shade * 17)
  const file = Buffer.concat([
    Buffer.from([0x89, 0x50, 0x4e, 0x47, 0x0d, 0x0a, 0x1a, 0x0a]),
    chunk('IHDR', header),
    chunk('PLTE', Buffer.from(palette)),
    chunk('tRNS', Buffer.from(clear)),
    chunk('IDAT', deflateSync(lines)),
    chunk('IEND', Buffer.alloc(0)),
  ])
  return `data:image/png;base64,${file.toString('base64')}`
}

function chunk(type: string, content: Buffer): Buffer {
  const named = Buffer.concat([Buffer.from(type, 'latin1'), content])
  const [length, check] = [Buffer.alloc(4), Buffer.alloc(4)]
  length.writeUInt32BE(content.length)
  check.writeUInt32BE(crc32(named))
  return Buffer.concat([length, named, check])
}
