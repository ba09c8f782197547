import { formatAddress, isWellFormed, parseAddress } from '../../ax25/address.js'
import { decodeFrame } from '../../ax25/frame.js'
import { pidNoLayer3 } from '../../ax25/protocol.js'

/*
 * A node says in a frame of its own that it is there, what it is connected to by, and what it takes. The payload is user-defined data
 * in the experimental form (APRS reference 1.0.1, chapter 18: `{`, user ID `{`, one character for the type, then data of any form):
 *
 *     {{H1 Q1HIL-5 mlnswd 3
 *
 * H, version of the form, what to connect to, a letter for each kind of entry that it takes, and how many entries wait there to be
 * handed on.
 */

/** Kinds of entries by their letter in an announcement. Reports and withdrawals everybody takes. */
const announcedKinds = {
  m: 'message',
  l: 'letter',
  n: 'notice',
  s: 'stations',
  w: 'weather',
  d: 'directory',
} as const
export type AnnouncedKind = (typeof announcedKinds)[keyof typeof announcedKinds]

export interface Announcement {
  /** what other nodes connect to, with SSID: also the node's name in routes and entries */
  readonly call: string
  readonly kinds: readonly AnnouncedKind[]
  /** entries that wait there to be handed on, 0 to 999 */
  readonly waitingCount: number
}

const beginning = '{{H1 '
const waitingMax = 999

export function announcementPayload({ call, kinds, waitingCount }: Announcement): Uint8Array {
  const letters = Object.entries(announcedKinds).flatMap(([letter, kind]) =>
    kinds.includes(kind) ? [letter] : [],
  )
  const waiting = Math.min(waitingMax, waitingCount)
  return new TextEncoder().encode(`${beginning}${call} ${letters.join('') || '-'} ${waiting}`)
}

/** @returns undefined for what is no announcement in this form; a letter that is not known is left out */
export function parseAnnouncement(payload: Uint8Array): Announcement | undefined {
  const text = Buffer.from(payload).toString('latin1')
  if (!text.startsWith(beginning)) return undefined
  const match = /^([A-Z0-9-]{1,9}) ([a-z]{1,26}|-) (\d{1,3})$/.exec(text.slice(beginning.length))
  const address = match && parseAddress(match[1]!)
  if (!match || !address?.ok || !isWellFormed(address.value)) return undefined
  const kinds = Object.entries(announcedKinds).flatMap(([letter, kind]) =>
    match[2]!.includes(letter) ? [kind] : [],
  )
  return { call: formatAddress(address.value), kinds, waitingCount: Number(match[3]) }
}

/**
 * The announcement of a node that was heard without a digipeater: only that can be connected to. Who announces names a call of his own,
 * so that nobody is sent to somebody else.
 */
export function heardAnnouncement(octets: Uint8Array): Announcement | undefined {
  const read = decodeFrame(octets)
  if (!read.ok) return undefined
  const { control, pid, payload, source, path } = read.frame
  if (control.type !== 'UI' || pid !== pidNoLayer3) return undefined
  if (path.some(({ repeated }) => repeated)) return undefined
  const told = parseAnnouncement(payload)
  return told !== undefined && told.call.split('-')[0] === source.call ? told : undefined
}
