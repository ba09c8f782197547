/**
 * True when octets can be an AX.25 frame at all: an address field of 2 to 10 whole addresses and a control octet.
 * Only the extension bits (AX.25 2.2 section 3.12) are looked at: senders on the air put characters into their
 * addresses that the standard forbids, and their FCS is right.
 * @param octets without FCS
 */
export function isPlausibleFrame(octets: Uint8Array): boolean {
  const lastAddressOctet = octets.findIndex((octet) => (octet & 1) === 1)
  const addressOctets = lastAddressOctet + 1
  return (
    addressOctets % 7 === 0 &&
    addressOctets >= 14 &&
    addressOctets <= 70 &&
    octets.length > addressOctets
  )
}
