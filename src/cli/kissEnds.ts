import type { KissSection } from '../config/sections/kiss.js'
import { type KissEnds, openKissEnds } from '../kiss/ends.js'
import { createKissHost, type PortsKissHost } from '../radio/kissHost.js'
import type { Port } from '../radio/port.js'
import type { Clock } from '../runtime/clock.js'

export interface ConfiguredKissOptions {
  readonly kiss: KissSection
  readonly ports: readonly Port[]
  readonly clock: Clock
  readonly nextId: () => string
  /** told in words when a client comes or goes, and what of it was not sent */
  readonly onEvent: (text: string) => void
}

export interface ConfiguredKiss extends KissEnds {
  readonly host: PortsKissHost
}

/**
 * Offers the radios over KISS, as configured.
 * @throws Failure when the TCP end cannot listen; lines that are not there are waited for
 */
export async function openConfiguredKiss(options: ConfiguredKissOptions): Promise<ConfiguredKiss> {
  const { kiss, clock, onEvent } = options
  const { enabled, ...tcp } = kiss.tcp
  const host = createKissHost({
    ...options,
    frameLifeMs: kiss.frameLifeS * 1000,
    fullDuplexAllowed: kiss.fullDuplexAllowed,
  })
  const ends = await openKissEnds({
    host,
    clock,
    onEvent,
    receiveOnly: kiss.receiveOnly,
    parametersAllowed: kiss.parametersAllowed,
    tcp: enabled ? tcp : undefined,
    serial: kiss.serial,
    pseudoTerminals: kiss.pseudoTerminals,
  })
  host.connect(ends.hub)
  return { ...ends, host }
}
