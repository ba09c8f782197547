import type { Modulo } from '../control.js'
import { bad, good, type Result } from '../result.js'
import type { LinkParameters } from './linkParameters.js'

/** What a station tells of itself in the information field of an XID frame; what is absent keeps its value. */
export interface XidParameters {
  readonly fullDuplex?: boolean
  /** single frames can be asked for again (SREJ) */
  readonly selective?: boolean
  readonly modulo?: Modulo
  readonly segmenter?: boolean
  /** N1: octets of an information field that it can receive */
  readonly informationOctetsMax?: number
  /** k: frames that it can receive without acknowledging */
  readonly windowFramesMax?: number
  readonly t1Ms?: number
  readonly triesMax?: number
}

const formatIdentifier = 0x82
const groupIdentifier = 0x80
const headOctetCount = 4

const parameter = { classes: 2, options: 3, octets: 6, window: 8, t1: 9, tries: 10 } as const

/** Bits of the first parameter, as the text gives them; the published example sets bit 1 in place of bit 0. */
const classBits = { balanced: 1 << 0, halfDuplex: 1 << 5, fullDuplex: 1 << 6 } as const

/** Bits of the second one, least significant octet first. */
const optionBits = {
  reject: 1 << 1,
  selective: 1 << 2,
  modulo8: 1 << 10,
  modulo128: 1 << 11,
  selectiveMultiframe: 1 << 21,
  segmenter: 1 << 22,
  /** extended address, TEST, 16-bit FCS, synchronous */
  always: (1 << 7) | (1 << 13) | (1 << 15) | (1 << 17),
} as const

/** @see AX.25 v2.2, 4.3.3.7 and figures 4.5, 4.6 */
export function encodeXid(told: XidParameters): Uint8Array {
  const fields: [number, number, number][] = []
  const duplex = told.fullDuplex === true ? classBits.fullDuplex : classBits.halfDuplex
  fields.push([parameter.classes, 2, swapped(classBits.balanced | duplex, 2)])
  fields.push([parameter.options, 3, swapped(optionsOf(told), 3)])
  if (told.informationOctetsMax !== undefined)
    fields.push([parameter.octets, 2, told.informationOctetsMax * 8])
  if (told.windowFramesMax !== undefined) fields.push([parameter.window, 1, told.windowFramesMax])
  if (told.t1Ms !== undefined) fields.push([parameter.t1, 2, Math.min(told.t1Ms, 0xffff)])
  if (told.triesMax !== undefined) fields.push([parameter.tries, 1, Math.min(told.triesMax, 0xff)])
  const octets = fields.flatMap(([identifier, octetCount, value]) => [
    identifier,
    octetCount,
    ...bigEndian(value, octetCount),
  ])
  return Uint8Array.of(
    ...[formatIdentifier, groupIdentifier, octets.length >> 8, octets.length & 0xff],
    ...octets,
  )
}

/** @param octets the information field. Parameters that are not known are passed over. */
export function decodeXid(octets: Uint8Array): Result<XidParameters> {
  if (octets[0] !== formatIdentifier || octets[1] !== groupIdentifier || octets.length < 4)
    return bad('no XID information field: it begins otherwise')
  const end = headOctetCount + octets[2]! * 256 + octets[3]!
  if (end > octets.length) return bad('the XID information field ends too early')
  let told: XidParameters = {}
  for (let at = headOctetCount; at < end; ) {
    const identifier = octets[at]!
    const octetCount = octets[at + 1]
    if (octetCount === undefined || at + 2 + octetCount > end)
      return bad(`XID parameter ${identifier} ends too early`)
    told = { ...told, ...readParameter(identifier, octets.subarray(at + 2, at + 2 + octetCount)) }
    at += 2 + octetCount
  }
  return good(told)
}

/** What both can do: the lesser of each, the greater of times. The other's limits hold for what we send. */
export function negotiated(own: LinkParameters, told: XidParameters): LinkParameters {
  const modulo = Math.min(own.modulo, told.modulo ?? own.modulo) as Modulo
  const window = Math.min(own.windowFramesMax, told.windowFramesMax ?? own.windowFramesMax)
  const selective = own.selective && (told.selective ?? own.selective)
  return {
    modulo,
    selective,
    informationOctetsMax: own.informationOctetsMax,
    windowFramesMax: Math.max(1, Math.min(window, selective ? modulo / 2 : modulo - 1)),
    triesMax: Math.max(own.triesMax, told.triesMax ?? 0),
  }
}

function optionsOf({ selective, modulo, segmenter }: XidParameters): number {
  let bits: number = optionBits.always
  bits |= selective === true ? optionBits.selective : optionBits.reject
  bits |= modulo === 128 ? optionBits.modulo128 : optionBits.modulo8
  return segmenter === true ? bits | optionBits.segmenter : bits
}

function readParameter(identifier: number, octets: Uint8Array): XidParameters {
  if (octets.length === 0 || octets.length > 4) return {}
  const value = octets.reduce((sum, octet) => sum * 256 + octet, 0)
  switch (identifier) {
    case parameter.classes:
      return { fullDuplex: (swapped(value, octets.length) & classBits.fullDuplex) !== 0 }
    case parameter.options:
      return readOptions(swapped(value, octets.length))
    case parameter.octets:
      return { informationOctetsMax: Math.max(1, Math.floor(value / 8)) }
    case parameter.window:
      return { windowFramesMax: Math.max(1, value) }
    case parameter.t1:
      return { t1Ms: value }
    case parameter.tries:
      return { triesMax: value }
    default:
      return {}
  }
}

/** The published example tells of SREJ by the bit of its multiframe form alone. */
const readOptions = (bits: number): XidParameters => ({
  selective: (bits & (optionBits.selective | optionBits.selectiveMultiframe)) !== 0,
  modulo: (bits & optionBits.modulo128) !== 0 ? 128 : 8,
  segmenter: (bits & optionBits.segmenter) !== 0,
})

const bigEndian = (value: number, octetCount: number): number[] =>
  Array.from({ length: octetCount }, (_, index) => (value >> (8 * (octetCount - 1 - index))) & 0xff)

/** Octets the other way round. */
const swapped = (value: number, octetCount: number): number =>
  bigEndian(value, octetCount).reduceRight((sum, octet) => sum * 256 + octet, 0)
