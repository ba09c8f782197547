import { formatAddress } from '../ax25/address.js'
import { type Ax25Frame, decodeFrame, digipeaterCountMax } from '../ax25/frame.js'

/** What clients may send: nothing, frames of the licensee's own call or repeated by it, or anything. */
export type ClientPermission = 'any' | 'own-call' | 'nothing'

export type CheckedFrame =
  | { readonly ok: true; readonly frame: Ax25Frame }
  /** with the frame as far as it could be read */
  | { readonly ok: false; readonly reason: string; readonly frame?: Ax25Frame }

/** As long an information field as the KISS paper wants a modem to take. @see KISS s.3 (from memory) */
const informationOctetsMax = 1024

/**
 * A client's frame, as far as it must be right to go on the air: it would go out without a call sign otherwise, or with more
 * than stations can read. What stands in control and PID is the client's own affair.
 */
export function checkClientFrame(octets: Uint8Array): CheckedFrame {
  const decoded = decodeFrame(octets)
  if (!decoded.ok) return { ok: false, reason: `no AX.25 frame: ${decoded.reason}` }
  const { frame } = decoded
  const bad = (reason: string): CheckedFrame => ({ ok: false, reason, frame })
  if (frame.path.length > digipeaterCountMax)
    return bad(`${frame.path.length} digipeaters: at most ${digipeaterCountMax} are allowed`)
  const addresses = [frame.source, frame.destination, ...frame.path.map(({ address }) => address)]
  const odd = addresses.find(({ call }) => !/^[A-Z0-9]{1,6}$/.test(call))
  if (odd !== undefined)
    return bad(`'${odd.call}' is not a call sign: 1 to 6 capital letters and digits are allowed`)
  if (frame.payload.length > informationOctetsMax)
    return bad(`${frame.payload.length} octets of information: at most ${informationOctetsMax} go`)
  return { ok: true, frame }
}

/**
 * @param ownCall the licensee's, with any SSID or none
 * @returns in words why it may not be sent; undefined when it may
 */
export function refusalOf(
  frame: Ax25Frame,
  permission: ClientPermission,
  ownCall: string,
): string | undefined {
  if (permission === 'any') return undefined
  if (permission === 'nothing') return 'clients like this one may send nothing'
  const licensee = ownCall.split('-')[0]!.toUpperCase()
  const isOurs = ({ call }: { call: string }): boolean => call === licensee
  const repeatedByUs = frame.path.some(({ address, repeated }) => repeated && isOurs(address))
  if (isOurs(frame.source) || repeatedByUs) return undefined
  return `from ${formatAddress(frame.source)}: only ${licensee} with any SSID is allowed, or what ${licensee} has repeated`
}
