// Check values for frames with forward error correction and for 9600 bit/s; each row names its source.
import fec from './fec.json' with { type: 'json' }

export { fec }

export const octetsOfHex = (text: string): Uint8Array =>
  Uint8Array.from(text.trim().split(/\s+/), (octet) => Number.parseInt(octet, 16))
