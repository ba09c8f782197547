import { parsePayload } from '../../src/aprs/parse.js'
import type { AprsPayload } from '../../src/aprs/types.js'

/** The payload of a kind, or an error that shows what it was instead. */
export function read<Kind extends AprsPayload['kind']>(
  kind: Kind,
  payload: Uint8Array | string,
  destination = 'APZ001',
): Extract<AprsPayload, { kind: Kind }> {
  const octets = typeof payload === 'string' ? Buffer.from(payload, 'latin1') : payload
  const parsed = parsePayload(octets, destination)
  if (parsed.kind !== kind) throw new Error(`not ${kind}: ${JSON.stringify(parsed)}`)
  return parsed as Extract<AprsPayload, { kind: Kind }>
}

export const textOf = (octets: Uint8Array): string => Buffer.from(octets).toString('latin1')
