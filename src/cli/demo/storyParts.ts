import type { Config } from '../../config/schema.js'
import type { MakeConnected } from '../../node/connected/connectedMode.js'
import type { MakeDigipeater } from '../../node/digipeater/digipeater.js'
import type { MakeEmail } from '../../node/email/email.js'
import type { HillCarrier } from '../../node/hills/hillCarrier.js'
import type { MakeHills } from '../../node/hills/hills.js'
import type { RadioCore } from '../../radio/radioCore.js'
import type { Clock } from '../../runtime/clock.js'
import type { ClockTrust } from '../../runtime/clockTrust.js'
import type { OpenBroker } from '../../setup/openBroker.js'
import type { Beside } from './beside/beside.js'

/** What a story's node may have besides its services; each is loaded only where it is wanted. */
export interface StoryParts {
  readonly digipeater: MakeDigipeater | undefined
  readonly connected: MakeConnected | undefined
  readonly hills: MakeHills | undefined
  readonly email: (StoryEmail & { readonly make: MakeEmail }) | undefined
  readonly broker: OpenBroker | undefined
}

interface StoryEmail {
  alert(to: string, text: string): string | undefined
  close(): void
}

export interface StoryPartsNeeds {
  /** with the call of the story */
  readonly config: Config
  /** of the configuration */
  readonly folder: string
  readonly clock: Clock
  readonly clockTrust: ClockTrust
  readonly core: RadioCore
  readonly beside: Beside | undefined
  readonly note: (text: string) => void
  readonly repeats: boolean
  /** somebody connects, whatever the configuration says */
  readonly isConnectedTo: boolean
}

export async function openStoryParts(needs: StoryPartsNeeds): Promise<StoryParts> {
  const { config, repeats, isConnectedTo } = needs
  const broker = config.broker.enabled ? await brokerFor(needs) : undefined
  const isConnected = isConnectedTo || config.connected.enabled
  return {
    digipeater: repeats ? await digipeaterFor(config) : undefined,
    connected: isConnected ? await connectedFor(config) : undefined,
    hills: config.hills.enabled ? await hillsFor(config, broker?.carrier) : undefined,
    email: config.email.enabled ? await emailFor(needs) : undefined,
    broker,
  }
}

/** As the configuration has it, but on the one radio of the scenario. */
async function digipeaterFor(config: Config): Promise<MakeDigipeater> {
  const [{ digipeater }, { digipeaterOptions }] = await Promise.all([
    import('../../node/digipeater/digipeater.js'),
    import('../../setup/digipeaterOptions.js'),
  ])
  const table = { ...config.digipeater, enabled: true, radios: [0] }
  const options = digipeaterOptions({ ...config, digipeater: table })
  return (parts) => digipeater({ ...parts, options })
}

async function connectedFor(config: Config): Promise<MakeConnected> {
  const [{ connectedMode }, { connectedOptions }] = await Promise.all([
    import('../../node/connected/connectedMode.js'),
    import('../../setup/connectedOptions.js'),
  ])
  const options = { ...connectedOptions(config), radios: [0] }
  return (parts) => connectedMode({ ...parts, options })
}

/** What takes hours on a hill takes minutes here. */
const announceMs = 60_000

async function hillsFor(config: Config, carrier: HillCarrier | undefined): Promise<MakeHills> {
  const [{ hills }, { hillOptions }, { connectedOptions }] = await Promise.all([
    import('../../node/hills/hills.js'),
    import('../../setup/hillOptions.js'),
    import('../../setup/connectedOptions.js'),
  ])
  const options = { ...hillOptions(config), radio: 0, announceMs }
  const letters = config.connected.enabled ? connectedOptions(config).letters : undefined
  return (parts) => hills({ ...parts, options, letters, carrier })
}

async function emailFor({ config, folder, beside, note }: StoryPartsNeeds) {
  const { openEmail } = await import('../../setup/openEmail.js')
  return openEmail(config, folder, note, beside?.during)
}

async function brokerFor({ config, folder, clock, clockTrust, core, note }: StoryPartsNeeds) {
  const { openBroker } = await import('../../setup/openBroker.js')
  const told = { onFault: note, onNote: note }
  return openBroker({ ...{ config, folder, clock, clockTrust, ports: [core] }, ...told })
}
