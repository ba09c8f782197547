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
  const forParts = kissOptions(options.kiss)
  const host = createKissHost({ ...options, ...forParts.host })
  const ends = await openKissEnds({ ...forParts.ends, host, clock, onEvent: record.tell })
  host.connect(ends.hub)
  return { ...ends, host }
}

/** What the ends of KISS, and the host of the radios behind them, are told by the configuration. */
export function kissOptions(section: KissSection) {
  const { tcp, serial, pseudoTerminals, receiveOnly, parametersAllowed, ...kiss } =
    inBaseUnits(section)
  const { enabled, ...listening } = tcp
  return {
    host: { ...kiss, bounds: kiss },
    ends: {
      serial: serial.map(({ lineBitRate: bitRate, ...line }) => ({ ...line, bitRate })),
      ...{ pseudoTerminals, receiveOnly, parametersAllowed },
      tcp: enabled ? listening : undefined,
    },
  }
}
