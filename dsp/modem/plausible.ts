// What an AX.25 frame can look like: for frames whose FCS is right, and more strictly for those that repair made.

/**
 * Octets of the address field: 2 to 10 whole addresses, the last octet marked by its extension bit (AX.25 2.2 section 3.12).
 * @returns 0 when there is no such field
 */
function addressOctetCount(octets: Uint8Array): number {
  for (let at = 0; at < Math.min(octets.length, 70); at++)
    if ((octets[at]! & 1) === 1) return at >= 13 && at % 7 === 6 ? at + 1 : 0
  return 0
}

/**
 * True when octets can be an AX.25 frame at all: an address field and a control octet. Of the addresses only the extension
 * bits are looked at: senders on the air put characters into them that the standard forbids, and their FCS is right.
 * @param octets without FCS
 */
export function isPlausibleFrame(octets: Uint8Array): boolean {
  const addressEnd = addressOctetCount(octets)
  return addressEnd > 0 && octets.length > addressEnd
}

/**
 * Whether octets that came out of repair can be what someone sent. The FCS passes one wrong candidate in 65536; a frame whose
 * every field makes sense as well is far less likely by chance. Frames that needed no repair are not held to this.
 * @param octets a frame without FCS
 * @returns true when addresses are upper-case letters and digits (AX.25 2.2 section 3.12), the control octet and PID exist
 *   (sections 4.2 and 4.3, figure 4), and the text, if it is text, is made of characters that texts are made of
 */
export function isPlausibleRepair(octets: Uint8Array): boolean {
  const addressEnd = addressOctetCount(octets)
  if (addressEnd === 0 || octets.length <= addressEnd) return false
  for (let from = 0; from < addressEnd; from += 7) if (!isCall(octets, from)) return false
  const control = octets[addressEnd]! & ~0x10
  const isInformation = (control & 1) === 0
  const isUnnumberedInformation = control === 0x03
  if (!isInformation && !isUnnumberedInformation)
    return otherControls.has(control) || (control & 0x03) === 0x01
  const pid = octets[addressEnd + 1]
  if (pid === undefined || !knownPids.has(pid)) return false
  return pid !== pidWithoutLayer3 || isText(octets.subarray(addressEnd + 2))
}

/** U frames with their P/F bit cleared: SABM, SABME, DISC, DM, UA, FRMR, XID, TEST. */
const otherControls: ReadonlySet<number> = new Set([0x2f, 0x6f, 0x43, 0x0f, 0x63, 0x87, 0xaf, 0xe3])
const pidWithoutLayer3 = 0xf0
const knownPids: ReadonlySet<number> = new Set([
  0x01, 0x06, 0x07, 0x08, 0xc3, 0xc4, 0xca, 0xcb, 0xcc, 0xcd, 0xce, 0xcf, 0xf0,
])

/** Six shifted characters, spaces only at the end. */
function isCall(octets: Uint8Array, from: number): boolean {
  let ended = false
  for (let at = from; at < from + 6; at++) {
    const character = octets[at]! >> 1
    const isSpace = character === 0x20
    const isDigit = character >= 0x30 && character <= 0x39
    const isLetter = character >= 0x41 && character <= 0x5a
    if (!(isDigit || isLetter || (isSpace && at > from)) || (ended && !isSpace)) return false
    ended = isSpace
  }
  return true
}

/** ASCII text (compressed and Mic-E positions use 0x1C to 0x1F and 0x7F too) or UTF-8. */
function isText(octets: Uint8Array): boolean {
  for (let at = 0; at < octets.length; ) {
    const octet = octets[at]!
    if (octet < 0x1c && !lineEnds.has(octet)) return false
    const continuations = octet < 0x80 ? 0 : utf8Continuations(octet)
    if (continuations < 0) return false
    for (let more = 1; more <= continuations; more++)
      if (((octets[at + more] ?? 0) & 0xc0) !== 0x80) return false
    at += 1 + continuations
  }
  return true
}

const lineEnds: ReadonlySet<number> = new Set([0x00, 0x09, 0x0a, 0x0d])

/** Octets that follow a leading octet of UTF-8 (RFC 3629 section 3); -1 if it cannot lead. */
function utf8Continuations(octet: number): number {
  if (octet >= 0xc2 && octet <= 0xdf) return 1
  if (octet >= 0xe0 && octet <= 0xef) return 2
  return octet >= 0xf0 && octet <= 0xf4 ? 3 : -1
}
