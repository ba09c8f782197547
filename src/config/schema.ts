import { z } from 'zod'
import { keyLineOf } from './keyLine.js'
import { checkLanguage } from './language.js'
import { alertsSection } from './sections/alerts.js'
import { audioSection } from './sections/audio.js'
import { beaconsSection } from './sections/beacons.js'
import { brokerSection } from './sections/broker.js'
import { connectedSection } from './sections/connected.js'
import { controlSection } from './sections/control.js'
import { digipeaterSection } from './sections/digipeater.js'
import { emailSection } from './sections/email.js'
import { emergencySection } from './sections/emergency.js'
import { eventSection } from './sections/event.js'
import { exposureSection } from './sections/exposure.js'
import { hillsSection } from './sections/hills.js'
import { kissSection } from './sections/kiss.js'
import { logSection } from './sections/log.js'
import { modemSection } from './sections/modem.js'
import { nodeSection } from './sections/node.js'
import { operatorSection } from './sections/operator.js'
import { pageSection } from './sections/page.js'
import { pttSection } from './sections/ptt.js'
import { receiverSection } from './sections/receiver.js'
import { servicesSection } from './sections/services.js'
import { signalSection } from './sections/signal.js'
import { stationSection } from './sections/station.js'
import { storeSection } from './sections/store.js'
import { transmitSection } from './sections/transmit.js'
import { checkSignal } from './signal.js'
import { checkVox } from './vox.js'

/** What belongs to one radio. */
const radioTables = {
  audio: audioSection.prefault({}),
  modem: modemSection.prefault({}),
  receiver: receiverSection.prefault({}),
  signal: signalSection.prefault({}),
  ptt: pttSection.prefault({}),
  transmit: transmitSection.prefault({}),
}

const radioSection = z
  .strictObject({
    name: z.string().min(1).max(20).default('radio'),
    ...radioTables,
  })
  .superRefine(checkVox)
  .superRefine(checkSignal)
export type RadioSection = z.infer<typeof radioSection>

/**
 * One TOML file. The tables audio, modem, receiver, signal, ptt and transmit describe the only radio, or, with several,
 * each [[radio]] holds its own; the first [[radio]] is number 0.
 */
export const configSchema = z
  .strictObject({
    station: stationSection.prefault({}),
    ...radioTables,
    radio: z.array(radioSection).max(16).superRefine(refuseSharedTransmitters).default([]),
    kiss: kissSection.prefault({}),
    node: nodeSection.prefault({}),
    control: controlSection.prefault({}),
    operator: operatorSection.prefault({}),
    emergency: emergencySection.prefault({}),
    page: pageSection.prefault({}),
    services: servicesSection.prefault({}),
    digipeater: digipeaterSection.prefault({}),
    connected: connectedSection.prefault({}),
    hills: hillsSection.prefault({}),
    broker: brokerSection.prefault({}),
    email: emailSection.prefault({}),
    alerts: alertsSection.prefault({}),
    event: eventSection.prefault({}),
    exposure: exposureSection.prefault({}),
    beacons: beaconsSection.prefault({}),
    store: storeSection.prefault({}),
    log: logSection.prefault({}),
  })
  .superRefine(checkVox)
  .superRefine(checkSignal)
  .superRefine(checkLanguage)
type ParsedConfig = z.infer<typeof configSchema>

/** The whole configuration, checked and with its defaults filled in; `radios` has at least one entry. */
export interface Config extends Omit<ParsedConfig, 'radio' | keyof typeof radioTables> {
  readonly radios: readonly RadioSection[]
}

/** Names of the per-radio tables, which may not stand beside [[radio]]. */
export const radioTableNames = Object.keys(radioTables) as (keyof typeof radioTables)[]

export function withRadios(parsed: ParsedConfig): Config {
  const { audio, modem, receiver, signal, ptt, transmit, radio, ...rest } = parsed
  const radios =
    radio.length > 0 ? radio : [{ name: 'radio', audio, modem, receiver, signal, ptt, transmit }]
  return { ...rest, radios }
}

/** Two radios with one transmitter: each would key it outside of the other's limits. */
function refuseSharedTransmitters(radios: readonly RadioSection[], context: z.RefinementCtx): void {
  const owners = new Map<string, string>()
  for (const [index, radio] of radios.entries()) {
    const transmitter = transmitterOf(radio)
    if (transmitter === undefined) continue
    const { identity, path, words } = transmitter
    const owner = owners.get(identity)
    if (owner === undefined) owners.set(identity, radio.name)
    else
      context.addIssue({
        code: 'custom',
        path: [index, ...path],
        message: `expected ${words} of its own; ${owner} has this one`,
      })
  }
}

interface Transmitter {
  /** equal for two radios that would key the same one */
  readonly identity: string
  readonly path: readonly string[]
  readonly words: string
}

/** By what a radio's transmitter is keyed: its modem, its key line, or the audio that keys it; undefined if by nothing. */
function transmitterOf({ modem, ptt, audio, transmit }: RadioSection): Transmitter | undefined {
  if (modem.kind !== 'none') {
    const { kind, device, host, port, modemPort } = modem
    const place = kind === 'serial' ? [device] : [host, port]
    return {
      identity: JSON.stringify(['modem', kind, ...place, modemPort]),
      path: ['modem', kind === 'serial' ? 'device' : 'host'],
      words: 'a modem, or a modemPort of that modem,',
    }
  }
  const line = keyLineOf(ptt)
  if (line !== undefined)
    return {
      identity: line,
      path: ['ptt', ptt.kind === 'command' ? 'keyCommand' : 'device'],
      words: 'a key line',
    }
  if (ptt.kind !== 'none' || audio.output === undefined || !transmit.enabled) return undefined
  return {
    identity: JSON.stringify(['audio', audio.output, audio.channel]),
    path: ['audio', 'output'],
    words: 'an output, or a channel of that output,',
  }
}
