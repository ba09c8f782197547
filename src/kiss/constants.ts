/*
 * The KISS protocol's numbers: M. Chepponis and P. Karn, "The KISS TNC: A Simple Host-to-TNC
 * Communications Protocol", ARRL 6th Computer Networking Conference, 1987; section numbers beside
 * each.
 */

/** frame end: opens and closes every frame (s.2) */
export const frameEnd = 0xc0
/** frame escape: the next octet stands for something else (s.2) */
export const frameEscape = 0xdb
/** after frameEscape: a frameEnd as data (s.2) */
export const transposedFrameEnd = 0xdc
/** after frameEscape: a frameEscape as data (s.2) */
export const transposedFrameEscape = 0xdd

/**
 * Low nibble of the type octet (s.4); the last two are from K. Medcalf, "Multi-Drop KISS
 * Operation", 1991.
 */
export const kissCommand = {
  data: 0,
  /** key-up delay in units of 10 ms */
  txDelay: 1,
  /** P of the p-persistence, 0 to 255, where p = (P + 1) / 256 */
  persistence: 2,
  /** slot time in units of 10 ms */
  slotTime: 3,
  /** hold time after the last frame in units of 10 ms */
  txTail: 4,
  /** 0 is half duplex, anything else full */
  fullDuplex: 5,
  setHardware: 6,
  /** data that begins with two octets which come back once the frame has been sent */
  acknowledgedData: 0x0c,
  /** asks a device on a shared line for its next frame */
  poll: 0x0e,
} as const

/** A whole type octet, whatever the port: leave KISS mode (s.4). */
export const returnTypeOctet = 0xff
