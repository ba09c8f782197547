import { formatAddress } from '../../ax25/address.js'
import { type DecodedFrame, decodeFrame } from '../../ax25/frame.js'

/** Reads frames as those of a connection are: which way they count stands in its first frame alone. */
export interface LinkReader {
  decode(octets: Uint8Array): DecodedFrame
}

export function linkReader(): LinkReader {
  const extended = new Set<string>()
  return {
    decode(octets) {
      const decoded = decodeFrame(octets)
      if (!decoded.ok) return decoded
      const { source, destination, control } = decoded.frame
      const pair = [source, destination].map(formatAddress).sort().join(' ')
      if (control.type === 'U' && control.name === 'SABME') extended.add(pair)
      if (control.type === 'U' && control.name === 'SABM') extended.delete(pair)
      return extended.has(pair) ? decodeFrame(octets, { modulo: 128 }) : decoded
    },
  }
}
