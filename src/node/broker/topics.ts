import type { AnnouncedKind } from '../hills/announcement.js'

/*
 * Topics and payloads. DEVELOPERS.md, "At a broker", has the form for other implementers.
 *
 *     PREFIX/CALL/online     retained JSON: whether the node is there, and what it takes
 *     PREFIX/CALL/state      retained JSON: levels, duty, holds, telemetry
 *     PREFIX/CALL/to/OTHER   sessions: lines of the hand-over, in pieces
 */

export interface Topics {
  readonly online: string
  readonly state: string
  readonly to: (other: string) => string
}

export const topicsOf = (prefix: string, call: string): Topics => ({
  online: `${prefix}/${call}/online`,
  state: `${prefix}/${call}/state`,
  to: (other) => `${prefix}/${call}/to/${other}`,
})

const encoder = new TextEncoder()

export const onlinePayload = (
  call: string,
  online: boolean,
  takes: readonly AnnouncedKind[],
): Uint8Array => encoder.encode(JSON.stringify({ form: 1, call, online, takes }))

const onlineOctetsMax = 1_000

/** @returns whether the node is there; undefined for what says nothing in this form */
export function readOnline(payload: Uint8Array, call: string): boolean | undefined {
  if (payload.length > onlineOctetsMax) return undefined
  try {
    const told: unknown = JSON.parse(Buffer.from(payload).toString())
    if (typeof told !== 'object' || told === null) return undefined
    const { form, call: named, online } = told as Record<string, unknown>
    return form === 1 && named === call && typeof online === 'boolean' ? online : undefined
  } catch {
    return undefined
  }
}

/**
 * 'call' begins a session and is number 0 of who calls; 'more' goes on; nothing comes after 'end'; 'gone': there is no such session
 * here (its number says nothing).
 */
export type PieceWord = 'call' | 'more' | 'end' | 'gone'

/** A piece of a session: some of the octets that one end says, in their order. */
export interface Piece {
  /** 16 characters a to z, 2 to 7, of this session alone */
  readonly session: string
  /** of all that this end says in the session, from 0 */
  readonly number: number
  readonly word: PieceWord
  readonly octets: Uint8Array
}

/** Octets of a session in one piece. */
export const pieceOctetsMax = 16_384
const headForm = /^link 1 ([a-z2-7]{16}) (0|[1-9]\d{0,8}) (call|more|end|gone)$/
const headOctetsMax = 60

export function piecePayload({ session, number, word, octets }: Piece): Uint8Array {
  const head = encoder.encode(`link 1 ${session} ${number} ${word}\n`)
  const payload = new Uint8Array(head.length + octets.length)
  payload.set(head)
  payload.set(octets, head.length)
  return payload
}

/** @returns undefined for what is no piece in this form */
export function readPiece(payload: Uint8Array): Piece | undefined {
  const end = payload.subarray(0, headOctetsMax).indexOf(0x0a)
  if (end < 0 || payload.length - end - 1 > pieceOctetsMax) return undefined
  const head = headForm.exec(Buffer.from(payload.subarray(0, end)).toString('latin1'))
  if (head === null) return undefined
  const [, session, number, word] = head
  return {
    ...{ session: session!, number: Number(number), word: word as PieceWord },
    octets: payload.subarray(end + 1),
  }
}
