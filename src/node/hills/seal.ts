import { createHmac, timingSafeEqual } from 'node:crypto'

/*
 * Two nodes that share a secret seal each line: behind a space and '~' stand ten hexadecimal digits of a keyed hash. What is said stays
 * readable to everybody; the seal says who said it, to whom, in which session and in which order. HMAC-SHA-256 (RFC 2104, FIPS 198-1),
 * its first 40 bits: a wrong one ends the session, so nobody has more than a few tries.
 */

const sealDigits = 10
const sealForm = /^(.*) ~([0-9a-f]{10})$/su

/** What the hash is over besides the line: who speaks to whom, both ends' nonces, the number of the line. */
export interface SealContext {
  readonly from: string
  readonly to: string
  readonly fromNonce: string
  /** '' in the first line of a session: it is not known yet */
  readonly toNonce: string
  readonly number: number
}

/** @param secret undefined: the line as it is */
export function sealedLine(text: string, secret: string | undefined, context: SealContext): string {
  return secret === undefined ? text : `${text} ~${sealOf(text, secret, context)}`
}

/** @returns the line without its seal; undefined where that is wrong or absent */
export function openedLine(
  text: string,
  secret: string | undefined,
  context: (text: string) => SealContext,
): string | undefined {
  if (secret === undefined) return text
  const match = sealForm.exec(text)
  if (match === null) return undefined
  const line = match[1]!
  const wanted = Buffer.from(sealOf(line, secret, context(line)))
  return timingSafeEqual(wanted, Buffer.from(match[2]!)) ? line : undefined
}

function sealOf(text: string, secret: string, context: SealContext): string {
  const { from, to, fromNonce, toNonce, number } = context
  const over = [from, to, fromNonce, toNonce, number, text].join('\n')
  return createHmac('sha256', secret).update(over).digest('hex').slice(0, sealDigits)
}
