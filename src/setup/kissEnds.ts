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
  const { kiss, clock, record } = options
  const { enabled, ...tcp } = kiss.tcp
  const host = createKissHost({
    ...options,
    localMaySend: kiss.localMaySend,
    remoteMaySend: kiss.remoteMaySend,
    frameLifeMs: kiss.frameLifeS * 1000,
    fullDuplexAllowed: kiss.fullDuplexAllowed,
    bounds: {
      meanWaitMsMax: kiss.meanWaitMsMax,
      keyDelayMsMax: kiss.keyDelayMsMax,
      tailMsMax: kiss.tailMsMax,
    },
  })
  const ends = await openKissEnds({
    host,
    clock,
    onEvent: record.tell,
    receiveOnly: kiss.receiveOnly,
    parametersAllowed: kiss.parametersAllowed,
    tcp: enabled ? tcp : undefined,
    serial: kiss.serial,
    pseudoTerminals: kiss.pseudoTerminals,
  })
  host.connect(ends.hub)
  return { ...ends, host }
}
