import { inBaseUnits } from '../config/baseUnits.js'
import type { KissSection } from '../config/sections/kiss.js'
import { type KissEnds, openKissEnds } from '../kiss/ends.js'
import { createKissHost, type PortsKissHost } from '../radio/kissHost.js'
import type { Port } from '../radio/port.js'
import type { Clock } from '../runtime/clock.js'
import type { ClientJournal } from './clientRecord.js'

export interface ConfiguredKissOptions {
  readonly kiss: KissSection
  /** the licensee's call sign */
  readonly ownCall: string
  readonly ports: readonly Port[]
  readonly clock: Clock
  readonly nextId: () => string
  readonly record: ClientJournal
}

export interface ConfiguredKiss extends KissEnds {
  readonly host: PortsKissHost
}

/**
 * Offers the radios over KISS, as configured.
 * @throws Failure when the TCP end cannot listen; lines that are not there are waited for
 */
export async function openConfiguredKiss(options: ConfiguredKissOptions): Promise<ConfiguredKiss> {
  const { clock, record } = options
  const { tcp, serial, pseudoTerminals, receiveOnly, parametersAllowed, ...kiss } = inBaseUnits(
    options.kiss,
  )
  const host = createKissHost({ ...options, ...kiss, bounds: kiss })
  const { enabled, ...listening } = tcp
  const ends = await openKissEnds({
    ...{ host, clock, serial, pseudoTerminals, receiveOnly, parametersAllowed },
    onEvent: record.tell,
    tcp: enabled ? listening : undefined,
  })
  host.connect(ends.hub)
  return { ...ends, host }
}
