import { z } from 'zod'
import { keyLineOf } from './keyLine.js'
import { audioSection } from './sections/audio.js'
import { beaconsSection } from './sections/beacons.js'
import { kissSection } from './sections/kiss.js'
import { logSection } from './sections/log.js'
import { modemSection } from './sections/modem.js'
import { nodeSection } from './sections/node.js'
import { pttSection } from './sections/ptt.js'
import { receiverSection } from './sections/receiver.js'
import { servicesSection } from './sections/services.js'
import { stationSection } from './sections/station.js'
import { storeSection } from './sections/store.js'
import { transmitSection } from './sections/transmit.js'

/** What belongs to one radio. */
const radioTables = {
  audio: audioSection.prefault({}),
  modem: modemSection.prefault({}),
  receiver: receiverSection.prefault({}),
  ptt: pttSection.prefault({}),
  transmit: transmitSection.prefault({}),
}

const radioSection = z.strictObject({
  name: z.string().min(1).max(20).default('radio'),
  ...radioTables,
})
export type RadioSection = z.infer<typeof radioSection>

/**
 * One TOML file. The tables audio, modem, receiver, ptt and transmit describe the only radio, or, with several,
 * each [[radio]] holds its own; the first [[radio]] is number 0.
 */
export const configSchema = z.strictObject({
  station: stationSection.prefault({}),
  ...radioTables,
  radio: z.array(radioSection).max(16).superRefine(refuseSharedKeyLines).default([]),
  kiss: kissSection.prefault({}),
  node: nodeSection.prefault({}),
  services: servicesSection.prefault({}),
  beacons: beaconsSection.prefault({}),
  store: storeSection.prefault({}),
  log: logSection.prefault({}),
})
type ParsedConfig = z.infer<typeof configSchema>

/** The whole configuration, checked and with its defaults filled in; `radios` has at least one entry. */
export interface Config extends Omit<ParsedConfig, 'radio' | keyof typeof radioTables> {
  readonly radios: readonly RadioSection[]
}

/** Names of the per-radio tables, which may not stand beside [[radio]]. */
export const radioTableNames = Object.keys(radioTables) as (keyof typeof radioTables)[]

export function withRadios(parsed: ParsedConfig): Config {
  const { audio, modem, receiver, ptt, transmit, radio, ...rest } = parsed
  const radios =
    radio.length > 0 ? radio : [{ name: 'radio', audio, modem, receiver, ptt, transmit }]
  return { ...rest, radios }
}

/** Two radios on one key line: each would key the other's transmitter, outside of its limits. */
function refuseSharedKeyLines(radios: readonly RadioSection[], context: z.RefinementCtx): void {
  const owners = new Map<string, string>()
  for (const [index, { name, ptt }] of radios.entries()) {
    const line = keyLineOf(ptt)
    if (line === undefined) continue
    const owner = owners.get(line)
    if (owner === undefined) owners.set(line, name)
    else
      context.addIssue({
        code: 'custom',
        path: [index, 'ptt', ptt.kind === 'command' ? 'keyCommand' : 'device'],
        message: `expected a key line of its own; ${owner} has this one`,
      })
  }
}
