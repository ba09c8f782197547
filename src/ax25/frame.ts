import {
  type Address,
  addressOctetCount,
  decodeAddress,
  encodeAddress,
  type PathEntry,
} from './address.js'
import {
  type Control,
  controlOctetCount,
  decodeControl,
  encodeControl,
  hasPid,
  type Modulo,
  mayCarryInformation,
} from './control.js'
import { pidEscape, pidNoLayer3 } from './protocol.js'
import { bad, good, type Result } from './result.js'

export const digipeaterCountMax = 8

/** Octets of an information field where nothing else was agreed on: N1. @see AX.25 v2.2, 6.7.2.3 (from memory) */
export const informationOctetCountMax = 256

/**
 * Two addresses and a control octet; the standard's minimum of 136 bits counts the FCS, which is
 * gone here.
 */
export const frameOctetCountMin = 2 * addressOctetCount + 1

/**
 * The C bits of destination and source: version 2 sets one of them, older stations set neither or
 * both.
 * @see AX.25 v2.2, figure 6.1
 */
export type CommandBits = 'command' | 'response' | 'neither' | 'both'

/** An AX.25 frame without flags and FCS. */
export interface Ax25Frame {
  readonly destination: Address
  readonly source: Address
  /** in the order in which they repeat; at most 8, more only after lenient reading */
  readonly path: readonly PathEntry[]
  readonly command: CommandBits
  /** what controlOctets mean */
  readonly control: Control
  /** one octet; two for I and S frames that count modulo 128. These are what encodeFrame writes. */
  readonly controlOctets: Uint8Array
  /** I and UI frames only */
  readonly pid?: number
  /** the octet after a PID of FF */
  readonly pidExtension?: number
  /** the information field */
  readonly payload: Uint8Array
}

export interface DecodeOptions {
  /**
   * true: only what the standard allows. false (the default): also what stations really send, such
   * as spaces inside a call sign, more than 8 digipeaters, H bits out of order, a missing PID,
   * information where none belongs.
   */
  readonly strict?: boolean
  /** how I and S frames count; 8 unless the link was opened with SABME */
  readonly modulo?: Modulo
}

export type DecodedFrame =
  | { readonly ok: true; readonly frame: Ax25Frame }
  | { readonly ok: false; readonly reason: string }

/**
 * Reads a frame. Whatever decodes, encodes again to the same octets.
 * @param octets from the first address octet to the last information octet; no flags, no FCS
 */
export function decodeFrame(octets: Uint8Array, options: DecodeOptions = {}): DecodedFrame {
  const strict = options.strict ?? false
  if (octets.length < frameOctetCountMin) {
    return bad(`${octets.length} octets are too few: a frame has at least ${frameOctetCountMin}`)
  }
  const addresses = decodeAddressField(octets, strict)
  if (!addresses.ok) return addresses
  const { octetCount, ...addressFields } = addresses.value

  const first = octets[octetCount]
  if (first === undefined) return bad('the frame ends after its address field')
  const controlCount = controlOctetCount(first, options.modulo ?? 8)
  const controlOctets = octets.slice(octetCount, octetCount + controlCount)
  if (controlOctets.length < controlCount) return bad('the frame ends inside its control field')
  const control = decodeControl(controlOctets)

  const rest = decodeRest(octets.subarray(octetCount + controlCount), control, strict)
  if (!rest.ok) return rest
  return { ok: true, frame: { ...addressFields, control, controlOctets, ...rest.value } }
}

/**
 * Writes a frame, without flags and FCS.
 * @throws RangeError if an address cannot be written, or a PID extension lacks its PID of FF
 */
export function encodeFrame(frame: Ax25Frame): Uint8Array {
  const { destination, source, path, command, pid, pidExtension } = frame
  if (pidExtension !== undefined && pid !== pidEscape) {
    throw new RangeError('PID extension: expected only after a PID of FF')
  }
  const destinationBit = command === 'command' || command === 'both'
  const sourceBit = command === 'response' || command === 'both'
  const subfields = [
    { address: destination, topBit: destinationBit, last: false },
    { address: source, topBit: sourceBit, last: path.length === 0 },
    ...path.map((entry, index) => ({
      address: entry.address,
      topBit: entry.repeated,
      last: index === path.length - 1,
    })),
  ]
  const head = [...frame.controlOctets]
  if (pid !== undefined) head.push(pid)
  if (pidExtension !== undefined) head.push(pidExtension)

  const addressCount = subfields.length * addressOctetCount
  const octets = new Uint8Array(addressCount + head.length + frame.payload.length)
  for (const [index, subfield] of subfields.entries()) {
    octets.set(encodeAddress(subfield), index * addressOctetCount)
  }
  octets.set(head, addressCount)
  octets.set(frame.payload, addressCount + head.length)
  return octets
}

/** What everything here sends: an unnumbered command frame without a layer 3 protocol. */
export function uiFrame(parts: {
  readonly source: Address
  readonly destination: Address
  /** bare addresses have not repeated yet */
  readonly path?: readonly (Address | PathEntry)[]
  readonly payload: Uint8Array
}): Ax25Frame {
  const control: Control = { type: 'UI', pollFinal: false }
  return {
    destination: parts.destination,
    source: parts.source,
    path: (parts.path ?? []).map((entry) =>
      'address' in entry ? entry : { address: entry, repeated: false },
    ),
    command: 'command',
    control,
    controlOctets: encodeControl(control),
    pid: pidNoLayer3,
    payload: parts.payload,
  }
}

interface AddressField {
  readonly octetCount: number
  readonly destination: Address
  readonly source: Address
  readonly path: PathEntry[]
  readonly command: CommandBits
}

function decodeAddressField(octets: Uint8Array, strict: boolean): Result<AddressField> {
  const destination = decodeAddress(octets, strict)
  if (!destination.ok) return destination
  if (destination.value.last) return bad('the address field ends after the destination')
  const source = decodeAddress(octets.subarray(addressOctetCount), strict)
  if (!source.ok) return source

  const path: PathEntry[] = []
  let octetCount = 2 * addressOctetCount
  let last = source.value.last
  while (!last) {
    if (strict && path.length === digipeaterCountMax) {
      return bad(`more than ${digipeaterCountMax} digipeaters`)
    }
    const entry = decodeAddress(octets.subarray(octetCount), strict)
    if (!entry.ok) return entry
    if (strict && entry.value.topBit && path.at(-1)?.repeated === false) {
      return bad('a digipeater has repeated before the one in front of it')
    }
    path.push({ address: entry.value.address, repeated: entry.value.topBit })
    last = entry.value.last
    octetCount += addressOctetCount
  }
  return good({
    octetCount,
    destination: destination.value.address,
    source: source.value.address,
    path,
    command: commandBits(destination.value.topBit, source.value.topBit),
  })
}

function commandBits(destinationBit: boolean, sourceBit: boolean): CommandBits {
  if (destinationBit) return sourceBit ? 'both' : 'command'
  return sourceBit ? 'response' : 'neither'
}

type Rest = Pick<Ax25Frame, 'pid' | 'pidExtension' | 'payload'>

function decodeRest(octets: Uint8Array, control: Control, strict: boolean): Result<Rest> {
  if (!hasPid(control)) {
    if (strict && octets.length > 0 && !mayCarryInformation(control)) {
      return bad('information where this kind of frame has none')
    }
    return good({ payload: octets.slice() })
  }
  const pid = octets[0]
  if (pid === undefined)
    return strict ? bad('the PID is missing') : good({ payload: octets.slice() })
  if (pid !== pidEscape) return good({ pid, payload: octets.slice(1) })
  const pidExtension = octets[1]
  if (pidExtension === undefined) {
    return strict
      ? bad('the PID escape lacks its second octet')
      : good({ pid, payload: octets.slice(1) })
  }
  return good({ pid, pidExtension, payload: octets.slice(2) })
}
