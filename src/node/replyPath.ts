import type { PathEntry } from '../ax25/address.js'
import { formatAddress, isWellFormed, parseAddress } from '../ax25/address.js'
import { digipeaterCountMax } from '../ax25/frame.js'
import type { AnswerOptions } from './options.js'

/**
 * Names that ask for any digipeater instead of naming one: WIDE2-1, TRACE3-3, RELAY, and the like.
 * (The n-N forms are the reference's chapter 2; the old names are there as obsolete.)
 */
const generic = /^(WIDE|TRACE|RELAY|ECHO|GATE|TEMP|NOGATE|RFONLY)\d?$/

/** Stands for a digipeater whose address field holds no call sign: it has repeated, and cannot be asked to. */
const nameless = '?'

/**
 * Digipeaters that have repeated a frame, first to last; empty for one that was heard direct. A name that no frame of ours
 * could carry is not taken over: '?' stands in its place.
 */
export function repeatedVia(path: readonly PathEntry[]): string[] {
  const last = path.findLastIndex(({ repeated }) => repeated)
  return path
    .slice(0, last + 1)
    .map(({ address }) => (isWellFormed(address) ? formatAddress(address) : nameless))
}

/**
 * The path of an answer to somebody who was heard through `via`: none when heard direct, else the same
 * digipeaters in reverse. Where one of them gave no call of its own, nobody knows the way: then the
 * configured path.
 * @param via as repeatedVia gives it, or 'direct' alone as the stations table has it; whatever an older database holds
 * @param own the node's call: what went through the node itself came to it by what stands in front of that
 */
export function replyPath(
  via: readonly string[],
  options: Pick<AnswerOptions, 'path' | 'configuredPath'>,
  own: string,
): readonly string[] {
  const configured = options.configuredPath.filter((name) => name !== own)
  const before = via.slice(0, via.includes(own) ? via.indexOf(own) : via.length)
  if (before.length === 0 || before[0] === 'direct') return []
  if (options.path === 'configured') return configured
  const named = before.filter((name) => !generic.test(name.split('-')[0]!))
  if (named.length === 0 || !named.every(isUsable)) return configured
  return [...new Set(named.reverse())].slice(0, digipeaterCountMax)
}

/** As formatAddress writes it: lower case, say, would be another name on the air. */
function isUsable(name: string): boolean {
  const address = parseAddress(name)
  return address.ok && formatAddress(address.value) === name
}
