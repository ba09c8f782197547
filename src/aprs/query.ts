import { readText } from './text.js'
import {
  type CapabilitiesPayload,
  type QueryPayload,
  type UnreadablePayload,
  unreadable,
} from './types.js'
import { kmPerMile } from './units.js'

/** Reads `?APRS?` or `?APRS? 34.02,-117.15,0200` (ch. 15), from the `?` on. */
export function parseQuery(text: string): QueryPayload | UnreadablePayload {
  const parts = /^\?([A-Za-z0-9]{1,9})\?(.*)$/s.exec(text)
  if (parts === null) return unreadable('query without a name between question marks')
  const base = { kind: 'query', query: parts[1]!.toUpperCase() } as const
  const where = parts[2]!.trim()
  if (where === '') return base
  const footprint = /^([+-]?\d{1,2}(?:\.\d+)?), ?([+-]?\d{1,3}(?:\.\d+)?), ?(\d{1,4})$/.exec(where)
  const [latitudeDeg, longitudeDeg, radiusMiles] = (footprint ?? []).slice(1).map(Number)
  const inRange = Math.abs(latitudeDeg ?? 91) <= 90 && Math.abs(longitudeDeg ?? 181) <= 180
  if (!inRange) return { ...base, problem: `footprint '${readText(where)}' is not understood` }
  return {
    ...base,
    footprint: {
      latitudeDeg: latitudeDeg!,
      longitudeDeg: longitudeDeg!,
      radiusKm: radiusMiles! * kmPerMile,
    },
  }
}

/** Reads `<IGATE,MSG_CNT=43,LOC_CNT=14` (ch. 15), from the `<` on. */
export function parseCapabilities(text: string): CapabilitiesPayload | UnreadablePayload {
  const tokens = text
    .slice(1)
    .split(',')
    .map((token) => readText(token).trim())
    .filter((token) => token !== '')
  if (tokens.length === 0) return unreadable('capabilities without a token')
  const pairs = tokens.map((token): [string, string | true] => {
    const equals = token.indexOf('=')
    return equals < 0 ? [token, true] : [token.slice(0, equals), token.slice(equals + 1)]
  })
  return { kind: 'capabilities', tokens: Object.fromEntries(pairs) }
}
