/** Supervisory frames in the order of their two S bits. */
const supervisoryNames = ['RR', 'RNR', 'REJ', 'SREJ'] as const
export type SupervisoryName = (typeof supervisoryNames)[number]

/**
 * Unnumbered frames other than UI, by control octet with P/F = 0.
 * @see AX.25 v2.2, figure 4.4
 */
const unnumberedOctets = {
  SABM: 0x2f,
  SABME: 0x6f,
  DISC: 0x43,
  DM: 0x0f,
  UA: 0x63,
  FRMR: 0x87,
  XID: 0xaf,
  TEST: 0xe3,
} as const
export type UnnumberedName = keyof typeof unnumberedOctets

/**
 * What a control field means. `pollFinal` is the P bit of a command and the F bit of a response.
 */
export type Control =
  | { readonly type: 'UI'; readonly pollFinal: boolean }
  | {
      readonly type: 'I'
      readonly receiveSequence: number
      readonly sendSequence: number
      readonly pollFinal: boolean
    }
  | {
      readonly type: 'S'
      readonly name: SupervisoryName
      readonly receiveSequence: number
      readonly pollFinal: boolean
    }
  | {
      readonly type: 'U'
      /** 'unknown' for a pattern that the standard does not define */
      readonly name: UnnumberedName | 'unknown'
      readonly pollFinal: boolean
    }

/**
 * Sequence numbers count modulo 8, or after SABME modulo 128. A frame alone does not tell which.
 */
export type Modulo = 8 | 128

const uiOctet = 0x03
const pollFinalBit = 0x10

/**
 * Octets of the control field that starts with `first`: I and S frames have two when counting
 * modulo 128.
 */
export function controlOctetCount(first: number, modulo: Modulo): 1 | 2 {
  return modulo === 128 && (first & 3) !== 3 ? 2 : 1
}

/**
 * @param octets the whole control field, as many octets as controlOctetCount says
 * @see AX.25 v2.2, figures 4.1a to 4.4
 */
export function decodeControl(octets: Uint8Array): Control {
  const first = octets[0]!
  const extended = octets.length > 1
  const pollFinal = extended ? (octets[1]! & 1) !== 0 : (first & pollFinalBit) !== 0
  const receiveSequence = extended ? octets[1]! >> 1 : first >> 5
  if ((first & 1) === 0) {
    const sendSequence = extended ? first >> 1 : (first >> 1) & 7
    return { type: 'I', receiveSequence, sendSequence, pollFinal }
  }
  if ((first & 2) === 0) {
    return { type: 'S', name: supervisoryNames[(first >> 2) & 3]!, receiveSequence, pollFinal }
  }
  const base = first & ~pollFinalBit
  if (base === uiOctet) return { type: 'UI', pollFinal }
  for (const [name, octet] of Object.entries(unnumberedOctets)) {
    if (octet === base) return { type: 'U', name: name as UnnumberedName, pollFinal }
  }
  return { type: 'U', name: 'unknown', pollFinal }
}

/**
 * @throws RangeError for a sequence number outside the modulo, or an unknown U frame (whose octet
 *   only its sender knows)
 */
export function encodeControl(control: Control, modulo: Modulo = 8): Uint8Array {
  const pollFinal = control.pollFinal ? pollFinalBit : 0
  if (control.type === 'UI') return Uint8Array.of(uiOctet | pollFinal)
  if (control.type === 'U') {
    if (control.name === 'unknown') throw new RangeError('an unknown U frame has no control octet')
    return Uint8Array.of(unnumberedOctets[control.name] | pollFinal)
  }
  const low =
    control.type === 'I'
      ? checkSequence(control.sendSequence, modulo) << 1
      : (supervisoryNames.indexOf(control.name) << 2) | 1
  const receiveSequence = checkSequence(control.receiveSequence, modulo)
  if (modulo === 128) {
    return Uint8Array.of(low, (receiveSequence << 1) | (control.pollFinal ? 1 : 0))
  }
  return Uint8Array.of((receiveSequence << 5) | pollFinal | low)
}

/** Whether the PID octet follows this control field. */
export function hasPid(control: Control): boolean {
  return control.type === 'UI' || control.type === 'I'
}

/** Whether the standard lets this frame carry an information field (AX.25 v2.2, 3.5). */
export function mayCarryInformation(control: Control): boolean {
  if (control.type !== 'U') return control.type !== 'S'
  return ['XID', 'TEST', 'FRMR', 'unknown'].includes(control.name)
}

function checkSequence(sequence: number, modulo: Modulo): number {
  if (!Number.isInteger(sequence) || sequence < 0 || sequence >= modulo) {
    throw new RangeError(`sequence number: got ${sequence}, expected 0 to ${modulo - 1}`)
  }
  return sequence
}
