import { formatAddress } from '../../ax25/address.js'
import type { Config, RadioSection } from '../../config/schema.js'
import { connectedOptions } from '../../setup/connectedOptions.js'
import { significant } from '../exposure/exposureReport.js'
import { type Finding, look, mend } from '../shared/finding.js'

/** Addresses, control, PID, flags, check sequence and stuffed bits of an I frame. */
const frameOverheadOctets = 20
const stuffing = 1.03

/** What stations connect to, and what it will cost. */
export function connectedLines(config: Config): [string, string][] {
  const { connected } = config
  const { own, radios } = connectedOptions(config)
  const names = radios.map((number) => config.radios[number]?.name ?? `radio ${number}`)
  const versions = connected.version22 ? 'modulo 8 and 128' : 'modulo 8'
  return [
    ['connect to', `${formatAddress(own)}, ${versions}, ${connected.stationsMax} at a time`],
    ['where', names.join(', ') || 'nowhere: no radio may send'],
    [
      'ends',
      `after ${connected.idleMinutes} minutes without a word, and after ${connected.sessionMinutes} in all`,
    ],
    [
      'letters',
      `to ${connected.letterOctets} characters, ${connected.lettersPerStation} a station, ${connected.lettersTotal} in all, for ${config.node.mailbox.keepDays} days`,
    ],
    ...radios.flatMap((number): [string, string][] => {
      const radio = config.radios[number]
      return radio === undefined ? [] : [['costs', costWords(config, radio)]]
    }),
  ]
}

function costWords({ connected }: Config, { name, transmit, signal }: RadioSection): string {
  const { windowFrames, frameOctets } = connected
  const frameMs = ((frameOctets + frameOverheadOctets) * 8 * stuffing * 1000) / signal.bitRate
  const windowMs = transmit.keyDelayMs + windowFrames * frameMs + transmit.tailMs
  const perKb = (windowMs / (windowFrames * frameOctets)) * 1000
  return `${name}: ${significant(windowMs / 1000, 2)} s of the key line a window, at ${signal.bitRate} bit/s and without losses ${significant(perKb / 1000, 2)} s for each 1,000 characters. The duty limit of ${transmit.dutyPercent} % allows about ${significant((36 * transmit.dutyPercent) / (perKb / 1000), 2)} kB an hour`
}

/** What the licensee has to see to. */
export function connectedFindings(config: Config): Finding[] {
  if (!config.connected.enabled) return []
  const { radios } = connectedOptions(config)
  const missing = radios.filter((one) => config.radios[one] === undefined)
  return [
    ...missing.map((one) =>
      mend('connected.radios', `radio ${one} is named, and there is none of this number`),
    ),
    look(
      'connected',
      'it answers by itself whoever connects, and keeps letters of strangers: look up your local rules first for automatic control and for messages of third parties (47 CFR 97.109, 97.115, 97.219 and 97.221 where the FCC has the say). Who holds the licence answers for the station',
    ),
  ]
}
