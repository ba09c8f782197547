import { type Address, parseAddress } from '../ax25/address.js'
import { inBaseUnits } from '../config/baseUnits.js'
import type { Config } from '../config/schema.js'
import type { DigipeaterOptions, DigipeaterRoute } from '../node/digipeater/digipeater.js'

/** What the digipeater is told, out of the configuration. */
export function digipeaterOptions(config: Config): DigipeaterOptions {
  const { aliases, radios, between, enabled: _, ...rest } = inBaseUnits(config.digipeater)
  return {
    ...rest,
    own: addressOf(config.station.call),
    aliases: aliases.map(addressOf),
    ignored: config.node.ignored,
    routes: routesOf(config, radios, between),
  }
}

/** Each radio to itself, and what is repeated from one to another, each once. */
function routesOf(
  { radios }: Config,
  chosen: readonly number[] | undefined,
  between: readonly DigipeaterRoute[],
): DigipeaterRoute[] {
  const sending = radios.flatMap(({ transmit }, radio) => (transmit.enabled ? [radio] : []))
  const own = (chosen ?? sending).map((radio) => ({ from: radio, to: radio }))
  const all = [...own, ...between]
  return all.filter(
    ({ from, to }, index) =>
      all.findIndex((other) => other.from === from && other.to === to) === index,
  )
}

/** The schema holds the form. */
function addressOf(text: string): Address {
  const parsed = parseAddress(text)
  if (!parsed.ok) throw new RangeError(parsed.reason)
  return parsed.value
}
