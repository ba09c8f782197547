import { type Control, controlOctetCount, decodeControl, type Modulo } from '../control.js'
import { bad, good, type Result } from '../result.js'

/** What a frame reject says; version 2.2 hears it and sends none. */
export interface FrameReject {
  /** what was rejected */
  readonly control: Control
  readonly wasResponse: boolean
  readonly receiveNext: number
  readonly sendNext: number
  readonly reasons: readonly string[]
}

const reasonBits = [
  'control field unknown',
  'information where none belongs',
  'information field too long',
  'N(R) out of range',
] as const

/**
 * @param octets the information field: the rejected control field, V(R), C/R and V(S), and a bit a reason; one octet less in
 *   modulo 8
 * @see AX.25 v2.0, 2.4.3.5 (from memory)
 */
export function decodeFrmr(octets: Uint8Array, modulo: Modulo): Result<FrameReject> {
  const extended = modulo === 128
  const needed = extended ? 5 : 3
  if (octets.length < needed) return bad(`${octets.length} octets, a frame reject has ${needed}`)
  const rejected = octets.subarray(0, controlOctetCount(octets[0]!, modulo))
  const [a, b] = extended ? [octets[2]!, octets[3]!] : [octets[1]!, octets[1]!]
  const flags = octets[needed - 1]!
  return good({
    control: decodeControl(rejected),
    wasResponse: extended ? (b & 1) !== 0 : (b & 0x10) !== 0,
    receiveNext: extended ? b >> 1 : b >> 5,
    sendNext: extended ? a >> 1 : (a >> 1) & 7,
    reasons: reasonBits.filter((_, index) => (flags & (1 << index)) !== 0),
  })
}
