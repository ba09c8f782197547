import { bad, good, type Result } from './result.js'

/** A station's address: call sign and secondary station identifier. */
export interface Address {
  /**
   * 1 to 6 upper-case letters and digits; after lenient reading 0 to 6 printable ASCII characters
   */
  readonly call: string
  /** 0 to 15 */
  readonly ssid: number
  /**
   * the two R bits of the SSID octet, 0 to 3; absent when both are 1, as the standard wants them
   * unused
   */
  readonly reservedBits?: number
}

/** One digipeater of the address field. */
export interface PathEntry {
  readonly address: Address
  /** the H bit: this digipeater has repeated the frame */
  readonly repeated: boolean
}

/** One seven-octet subfield of the address field, with the bits that share its SSID octet. */
export interface AddressSubfield {
  readonly address: Address
  /** bit 7 of the SSID octet: C for destination and source, H for digipeaters */
  readonly topBit: boolean
  /** bit 0 of the SSID octet: nothing follows in the address field */
  readonly last: boolean
}

export const addressOctetCount = 7

/** Reads `N0CALL-7`; lower case is taken as upper case, SSID 0 may be left out. */
export function parseAddress(text: string): Result<Address> {
  const parts = /^([A-Za-z0-9]{1,6})(?:-(\d|1[0-5]))?$/.exec(text)
  if (parts === null) {
    const wanted = '1 to 6 letters and digits, then optionally - and a number from 0 to 15'
    return bad(`'${text}' is not an address: expected ${wanted}`)
  }
  return good({ call: parts[1]!.toUpperCase(), ssid: Number(parts[2] ?? '0') })
}

/** Writes `N0CALL-7`; SSID 0 is left out. */
export function formatAddress(address: Address): string {
  return address.ssid === 0 ? address.call : `${address.call}-${address.ssid}`
}

/** False for what only lenient reading gives: an empty call sign, blanks in it, lower case, other signs. */
export function isWellFormed({ call, ssid }: Address): boolean {
  return /^[A-Z0-9]{1,6}$/.test(call) && ssid >= 0 && ssid <= 15
}

/** True for the same call sign and SSID, whatever the reserved bits. */
export function sameAddress(a: Address, b: Address): boolean {
  return a.call === b.call && a.ssid === b.ssid
}

/**
 * Reads `WIDE1-1,WIDE2-1`; a `*` marks the last digipeater that has repeated the frame. An empty
 * text is an empty path.
 */
export function parsePath(text: string): Result<PathEntry[]> {
  if (text.trim() === '') return good([])
  const names = text.split(',').map((name) => name.trim())
  const lastRepeated = names.findLastIndex((name) => name.endsWith('*'))
  const path: PathEntry[] = []
  for (const [index, name] of names.entries()) {
    const address = parseAddress(name.replace(/\*$/, ''))
    if (!address.ok) return address
    path.push({ address: address.value, repeated: index <= lastRepeated })
  }
  return good(path)
}

/** Writes a path as parsePath reads it. */
export function formatPath(path: readonly PathEntry[]): string {
  const lastRepeated = path.findLastIndex((entry) => entry.repeated)
  return path
    .map((entry, index) => formatAddress(entry.address) + (index === lastRepeated ? '*' : ''))
    .join(',')
}

/**
 * Reads one subfield of the address field.
 * @param octets from the subfield's first octet; at least seven
 * @param strict refuse calls that are not upper-case letters and digits padded with spaces on the
 *   right
 * @see AX.25 v2.2, 3.12.2 and figures 3.5 to 3.7
 */
export function decodeAddress(octets: Uint8Array, strict: boolean): Result<AddressSubfield> {
  if (octets.length < addressOctetCount) return bad('the address field is cut short')
  let padded = ''
  for (let at = 0; at < 6; at++) {
    const octet = octets[at]!
    if ((octet & 1) !== 0) return bad('the address field ends inside an address')
    const code = octet >> 1
    if (code < 0x20 || code === 0x7f) return bad('a call sign holds a control character')
    padded += String.fromCharCode(code)
  }
  const call = padded.trimEnd()
  if (strict && !/^[A-Z0-9]{1,6}$/.test(call)) {
    return bad(`the call sign '${call}' is not made of upper-case letters and digits`)
  }
  const last = octets[6]!
  const reservedBits = (last >> 5) & 3
  const address: Address = {
    call,
    ssid: (last >> 1) & 15,
    ...(reservedBits === 3 ? {} : { reservedBits }),
  }
  return good({ address, topBit: (last & 0x80) !== 0, last: (last & 1) !== 0 })
}

/**
 * Writes one subfield of the address field, seven octets.
 * @throws RangeError if the call sign has more than six characters or any outside printable
 *   ASCII, or the SSID is not 0 to 15
 */
export function encodeAddress(subfield: AddressSubfield): Uint8Array {
  const { call, ssid, reservedBits = 3 } = subfield.address
  if (!/^[\x20-\x7e]{0,6}$/.test(call)) {
    throw new RangeError(`call sign: got '${call}', expected at most 6 printable characters`)
  }
  if (!Number.isInteger(ssid) || ssid < 0 || ssid > 15) {
    throw new RangeError(`SSID: got ${ssid}, expected a whole number from 0 to 15`)
  }
  const octets = new Uint8Array(addressOctetCount).fill(0x40)
  for (let at = 0; at < call.length; at++) octets[at] = call.charCodeAt(at) << 1
  octets[6] =
    (subfield.topBit ? 0x80 : 0) | ((reservedBits & 3) << 5) | (ssid << 1) | (subfield.last ? 1 : 0)
  return octets
}
