import { formatAddress, parseAddress } from '../ax25/address.js'
import type { HeardStation, StationsView } from './service.js'

/** A call sign as somebody keyed it, in its standard form; undefined when it is none. */
export function parseCall(word: string): string | undefined {
  let end = word.length
  while (end > 0 && '.,;:?!'.includes(word[end - 1]!)) end--
  const parsed = parseAddress(word.slice(0, end))
  return parsed.ok && /\d/.test(parsed.value.call) && /[A-Z]/.test(parsed.value.call)
    ? formatAddress(parsed.value)
    : undefined
}

/** The station of that very address; without an SSID, whichever of the call's sixteen was heard last. */
export function findStation(stations: StationsView, call: string): HeardStation | undefined {
  const exact = stations.find(call)
  if (exact !== undefined || call.includes('-')) return exact
  let newest: HeardStation | undefined
  for (let ssid = 1; ssid <= 15; ssid++) {
    const one = stations.find(`${call}-${ssid}`)
    if (one && one.lastHeardWallMs > (newest?.lastHeardWallMs ?? -Infinity)) newest = one
  }
  return newest
}
