/** PID of frames without a layer 3 protocol: everything APRS, and plain text. */
export const pidNoLayer3 = 0xf0

/** PID after which one more octet names the protocol. */
export const pidEscape = 0xff

/**
 * Layer 3 protocol identifiers.
 * @see AX.25 v2.2, figure 3.2
 */
export const protocolNames: Readonly<Record<number, string>> = {
  1: 'X.25 PLP',
  6: 'compressed TCP/IP',
  7: 'uncompressed TCP/IP',
  8: 'segment',
  195: 'datagram C3',
  196: 'link quality',
  202: 'Appletalk',
  203: 'Appletalk ARP',
  204: 'IP',
  205: 'ARP',
  206: 'network CE',
  207: 'network CF',
  240: 'no layer 3',
  255: 'escape',
}
