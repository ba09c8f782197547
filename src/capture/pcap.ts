/*
 * Captures that general-purpose protocol analysers read: the classic pcap file format,
 * little-endian, microsecond stamps, link type 202 (AX.25 with a KISS command octet in front; no
 * FCS, no frame ends, no escapes).
 * @see draft-ietf-opsawg-pcap and the link-layer header types of tcpdump.org (from memory);
 *   checked with tshark
 */

const magic = 0xa1b2c3d4
const linkTypeAx25Kiss = 202
const snapLength = 65535

/** The 24 octets that begin a capture file. */
export function pcapHeader(): Uint8Array {
  const octets = new Uint8Array(24)
  const view = new DataView(octets.buffer)
  view.setUint32(0, magic, true)
  view.setUint16(4, 2, true)
  view.setUint16(6, 4, true)
  // Octets 8 to 15, time zone and accuracy, are always 0.
  view.setUint32(16, snapLength, true)
  view.setUint32(20, linkTypeAx25Kiss, true)
  return octets
}

/**
 * One frame of a capture, to append to the file.
 * @param octets AX.25 frame without FCS; what goes beyond 65534 octets is cut, as the format has it
 * @param wallMs milliseconds since 1970, fractions kept to the microsecond; within 1970 to 2106
 * @param radio 0 to 15; stands in the KISS port nibble
 * @throws RangeError if radio is out of range
 */
export function pcapRecord(octets: Uint8Array, wallMs: number, radio: number): Uint8Array {
  if (!Number.isInteger(radio) || radio < 0 || radio > 15) {
    throw new RangeError(`radio: got ${radio}, expected 0 to 15`)
  }
  const kept = octets.subarray(0, snapLength - 1)
  const record = new Uint8Array(16 + 1 + kept.length)
  const view = new DataView(record.buffer)
  const microseconds = Math.max(0, Math.round(wallMs * 1000))
  view.setUint32(0, Math.floor(microseconds / 1_000_000), true)
  view.setUint32(4, microseconds % 1_000_000, true)
  view.setUint32(8, 1 + kept.length, true)
  view.setUint32(12, 1 + octets.length, true)
  record[16] = radio << 4
  record.set(kept, 17)
  return record
}
