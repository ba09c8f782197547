// The header of IL2P: 13 octets. Their lower six bits are the calls, six-bit characters (ASCII less 0x20), and octet 12 both
// SSIDs, the destination's in the high half. Bits 6 and 7 hold the rest, most significant bit in the first octet:
//   bit 6: octet 0 UI; 1 to 4 PID; 5 to 11 control        bit 7: octet 1 type; 2 to 11 payload octets
// Source: IL2P draft 0.6; the order of bits 6 and 7 is confirmed by its examples (test/published/fec.json).

export interface Il2pHeader {
  readonly payloadOctetCount: number
  /** The frame without FCS. @param payload as many octets as the header says */
  frameOf(payload: Uint8Array): Uint8Array
}

const headerOctets = 13
const addressOctets = 14

/** PIDs by their code; 0 stands for S frames, 1 for U frames other than UI, 2 for several, which could not be told apart. */
const pids: Readonly<Record<number, number>> = {
  3: 0x01,
  4: 0x06,
  5: 0x07,
  6: 0x08,
  11: 0xcc,
  12: 0xcd,
  13: 0xce,
  14: 0xcf,
  15: 0xf0,
}
const supervisoryCode = 0
const unnumberedCode = 1

/** Control octets of U frames by their code, P/F cleared: SABM, DISC, DM, UA, FRMR, UI, XID, TEST. */
const unnumbered = [0x2f, 0x43, 0x0f, 0x63, 0x87, 0x03, 0xaf, 0xe3] as const
const uiCode = 5
const pollFinal = 0x10

/** Header and payload of a frame: the short header if it brings the frame back octet for octet, else the frame as payload. */
export function headerOf(frame: Uint8Array): { header: Uint8Array; payload: Uint8Array } {
  const short = shortHeaderOf(frame)
  if (short !== undefined) {
    const back = readHeader(short.header)?.frameOf(short.payload)
    if (back?.length === frame.length && back.every((octet, at) => octet === frame[at]))
      return short
  }
  const header = new Uint8Array(headerOctets)
  putBits(header, 7, 2, 11, frame.length)
  return { header, payload: frame }
}

/** @param header unscrambled; undefined for what no sender means */
export function readHeader(header: Uint8Array): Il2pHeader | undefined {
  const payloadOctetCount = takeBits(header, 7, 2, 11)
  if (takeBits(header, 7, 1, 1) === 0)
    return payloadOctetCount === 0
      ? undefined
      : { payloadOctetCount, frameOf: (payload) => payload }
  const isUi = takeBits(header, 6, 0, 0) === 1
  const pidCode = takeBits(header, 6, 1, 4)
  const control = readControl(isUi, pidCode, takeBits(header, 6, 5, 11))
  if (control === undefined) return undefined
  const start = Uint8Array.of(...addressesOf(header, control.isCommand), ...control.octets)
  return {
    payloadOctetCount,
    frameOf(payload) {
      const frame = new Uint8Array(start.length + payload.length)
      frame.set(start)
      frame.set(payload, start.length)
      return frame
    },
  }
}

function addressesOf(header: Uint8Array, isCommand: boolean): Uint8Array {
  const octets = new Uint8Array(addressOctets)
  for (let at = 0; at < 6; at++) {
    octets[at] = ((header[at]! & 0x3f) + 0x20) << 1
    octets[7 + at] = ((header[6 + at]! & 0x3f) + 0x20) << 1
  }
  const ssids = header[12]!
  octets[6] = 0x60 | ((ssids >> 4) << 1) | (isCommand ? 0x80 : 0)
  octets[13] = 0x61 | ((ssids & 15) << 1) | (isCommand ? 0 : 0x80)
  return octets
}

/** Control octet and PID, out of the header's seven bits. */
function readControl(
  isUi: boolean,
  pidCode: number,
  bits: number,
): { octets: readonly number[]; isCommand: boolean } | undefined {
  const poll = (bits & 0x40) !== 0 ? pollFinal : 0
  const isCommand = (bits & 4) !== 0
  if (pidCode === supervisoryCode && !isUi) {
    const kind = bits & 3
    return { octets: [(((bits >> 3) & 7) << 5) | poll | (kind << 2) | 1], isCommand }
  }
  if (pidCode === unnumberedCode && !isUi) {
    if ((bits & 3) !== 0) return undefined
    return { octets: [unnumbered[(bits >> 3) & 7]! | poll], isCommand }
  }
  const pid = pids[pidCode]
  if (pid === undefined) return undefined
  if (isUi)
    return ((bits >> 3) & 7) === uiCode && (bits & 3) === 0
      ? { octets: [unnumbered[uiCode] | poll, pid], isCommand }
      : undefined
  const receive = (bits >> 3) & 7
  const send = bits & 7
  return { octets: [(receive << 5) | poll | (send << 1), pid], isCommand: true }
}

/** What the short header can say at all of a frame; whether that brings it back is for the caller to see. */
function shortHeaderOf(frame: Uint8Array): { header: Uint8Array; payload: Uint8Array } | undefined {
  if (frame.length <= addressOctets || (frame[13]! & 1) === 0) return undefined
  const header = new Uint8Array(headerOctets)
  for (let at = 0; at < 6; at++) {
    header[at] = ((frame[at]! >> 1) - 0x20) & 0x3f
    header[6 + at] = ((frame[7 + at]! >> 1) - 0x20) & 0x3f
  }
  header[12] = (((frame[6]! >> 1) & 15) << 4) | ((frame[13]! >> 1) & 15)
  const coded = codedControl(frame[addressOctets]!, frame[addressOctets + 1])
  if (coded === undefined) return undefined
  const isCommand = (frame[6]! & 0x80) !== 0
  const { pidCode } = coded
  const hasCommandBit = pidCode <= unnumberedCode || coded.isUi
  putBits(header, 6, 0, 0, coded.isUi ? 1 : 0)
  putBits(header, 6, 1, 4, pidCode)
  putBits(header, 6, 5, 11, coded.bits | (hasCommandBit && isCommand ? 4 : 0))
  const payload = frame.subarray(addressOctets + (pidCode <= unnumberedCode ? 1 : 2))
  putBits(header, 7, 1, 1, 1)
  putBits(header, 7, 2, 11, payload.length)
  return payload.length > 1023 ? undefined : { header, payload }
}

function codedControl(
  control: number,
  pid: number | undefined,
): { isUi: boolean; pidCode: number; bits: number } | undefined {
  const poll = (control & pollFinal) !== 0 ? 0x40 : 0
  const receive = (control >> 5) << 3
  if ((control & 3) === 1)
    return { isUi: false, pidCode: supervisoryCode, bits: poll | receive | ((control >> 2) & 3) }
  const pidCode = Object.entries(pids).find(([, value]) => value === pid)?.[0]
  if ((control & 1) === 0)
    return pidCode === undefined
      ? undefined
      : { isUi: false, pidCode: Number(pidCode), bits: poll | receive | ((control >> 1) & 7) }
  const code = unnumbered.findIndex((value) => value === (control & ~pollFinal))
  if (code < 0) return undefined
  if (code !== uiCode) return { isUi: false, pidCode: unnumberedCode, bits: poll | (code << 3) }
  return pidCode === undefined
    ? undefined
    : { isUi: true, pidCode: Number(pidCode), bits: poll | (code << 3) }
}

/** Writes a number into one bit of some octets, its most significant bit into the first. */
function putBits(
  header: Uint8Array,
  bit: number,
  first: number,
  last: number,
  value: number,
): void {
  for (let at = first; at <= last; at++) header[at]! |= ((value >> (last - at)) & 1) << bit
}

function takeBits(header: Uint8Array, bit: number, first: number, last: number): number {
  let value = 0
  for (let at = first; at <= last; at++) value = (value << 1) | ((header[at]! >> bit) & 1)
  return value
}
