import type { PathEntry } from '../ax25/address.js'
import { formatAddress } from '../ax25/address.js'

/**
 * Names that ask for any digipeater instead of naming one: WIDE2-1, TRACE3-3, RELAY, and the like.
 * (The n-N forms are the reference's chapter 2; the old names are there as obsolete.)
 */
const generic = /^(WIDE|TRACE|RELAY|ECHO|GATE|TEMP|NOGATE|RFONLY)\d?$/

/** Digipeaters that have repeated a frame, first to last; empty for one that was heard direct. */
export function repeatedVia(path: readonly PathEntry[]): string[] {
  const last = path.findLastIndex(({ repeated }) => repeated)
  return path.slice(0, last + 1).map(({ address }) => formatAddress(address))
}

/**
 * The path of an answer to somebody who was heard through `via`: none when heard direct, else the same
 * digipeaters in reverse. Where the last of them did not give its own call, nobody can be named: then the
 * configured path.
 * @param via as repeatedVia gives it, or 'direct' alone as the stations table has it
 */
export function replyPath(
  via: readonly string[],
  options: { readonly path: 'reverse' | 'configured'; readonly configuredPath: readonly string[] },
): readonly string[] {
  if (via.length === 0 || via[0] === 'direct') return []
  if (options.path === 'configured') return options.configuredPath
  const named = via.filter((name) => !generic.test(name.split('-')[0]!))
  const lastNamed = named.at(-1)
  if (lastNamed === undefined) return options.configuredPath
  return [...new Set(named.reverse())].slice(0, 8)
}
