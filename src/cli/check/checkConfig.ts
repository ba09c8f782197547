import { netCycleMinutes } from '../../aprs/path.js'
import { parsePath } from '../../ax25/address.js'
import type { Config, RadioSection } from '../../config/schema.js'
import { isLoopback } from '../../kiss/allowList.js'
import { checkIdentificationFits } from '../../radio/identificationFits.js'
import { keyOverheadMs, unkeyMarginMs } from '../../radio/soundCardTiming.js'
import { callSignProblem } from '../../regulations/callSign.js'
import { ruleNotes } from '../../regulations/rules.js'
import { Failure } from '../../runtime/failure.js'
import { transmitOptions } from '../../setup/transmitOptions.js'
import { type Finding, look, mend } from '../shared/finding.js'
import { alertFindings } from './checkAlerts.js'
import { brokerFindings } from './checkBroker.js'
import { connectedFindings } from './checkConnected.js'
import { digipeaterFindings } from './checkDigipeater.js'
import { emailFindings } from './checkEmail.js'
import { hillFindings } from './checkHills.js'
import { voxFindings } from './checkVox.js'

/** Everything that can be seen in the configuration alone. */
export function configFindings(config: Config): Finding[] {
  const sending = config.radios.filter(({ transmit }) => transmit.enabled)
  return [
    ...(sending.length > 0 ? stationFindings(config) : []),
    ...config.radios.flatMap((radio, number) => {
      const findings = [
        ...flatPortFindings(radio),
        ...(radio.transmit.enabled ? sendingFindings(config, radio) : []),
      ]
      const prefix = config.radios.length > 1 ? `radio ${number}: ` : ''
      return findings.map((one) => ({ ...one, about: `${prefix}${one.about}` }))
    }),
    ...(sending.length > 0 ? beaconFindings(config) : []),
    ...offerFindings(config),
    ...controlFindings(config),
    ...digipeaterFindings(config),
    ...connectedFindings(config),
    ...emailFindings(config),
    ...hillFindings(config),
    ...brokerFindings(config),
    ...alertFindings(config),
  ]
}

function stationFindings({ station }: Config): Finding[] {
  const findings: Finding[] = []
  const problem = callSignProblem(station.call)
  if (problem !== undefined)
    findings.push(
      mend('station.call', `${problem}: nothing is sent until it is your own call sign`),
    )
  if (station.controlOperator === '')
    findings.push(
      mend(
        'station.controlOperator',
        'nobody is named who answers for the transmitter (47 CFR 97.103, 97.105); write a name or call',
      ),
    )
  return findings
}

/** A speaker's audio is cut off on both sides of what 9600 bit/s need. */
const flatPortFindings = ({ modem, signal }: RadioSection): Finding[] =>
  modem.kind !== 'none' || signal.bitRate !== 9600
    ? []
    : [
        look(
          'signal.bitRate',
          "9600 needs the flat port of the radio both ways (its data jack, set to 9600): not a speaker or microphone jack, and not the data jack's output for 1200; and a card that takes 48000 samples a second. `levels` says what comes",
        ),
      ]

/** Who carries the secrets of `enrol` relies on them. */
const controlFindings = ({ node, control }: Config): Finding[] =>
  node.answer || control.file === ''
    ? []
    : [look('node.answer', 'false: no command by radio is heeded either, not even `hold`')]

function sendingFindings(config: Config, radio: RadioSection): Finding[] {
  const { audio, modem, ptt, transmit } = radio
  const findings = [...missingFigures(radio), ...antennaSizeFindings(radio)]
  const ours = modem.kind === 'none'
  if (ours && audio.output === undefined)
    findings.push(mend('audio.output', 'transmit.enabled without an audio output: name one'))
  if (ours && ptt.kind === 'log')
    findings.push(mend('ptt.kind', '"log" keys nothing: choose serial, gpio, hid, command or none'))
  if (transmit.fullDuplex)
    findings.push(
      look(
        'transmit.fullDuplex',
        'sends without listening first; on a shared channel switch it off',
      ),
    )
  if (transmit.dutyPercent > 50)
    findings.push(
      look(
        'transmit.dutyPercent',
        `${transmit.dutyPercent} %: few radios stand that at full power; read what the maker says`,
      ),
    )
  return [
    ...findings,
    ...voxFindings(radio),
    ...identificationFindings(config, radio),
    ...ruleFindings(radio),
  ]
}

/** An identification must fit the limits, or the radio could never identify. */
function identificationFindings(config: Config, radio: RadioSection): Finding[] {
  try {
    checkIdentificationFits(transmitOptions(config, radio), { keyOverheadMs, unkeyMarginMs })
    return []
  } catch (error) {
    if (!(error instanceof Failure)) throw error
    return [mend('transmit.timeOutMs', `${error.inShort}; ${error.detail.advice}`)]
  }
}

function missingFigures({ transmit }: RadioSection): Finding[] {
  const wanted = {
    frequencyMHz: 'where is the transmitter tuned',
    powerW: "what is the transmitter's output",
    antennaGainDbi: 'what is the gain of the antenna (dBd + 2.15)',
    antennaHeightM: 'how high is the antenna above where people stand',
  } as const
  const names = Object.keys(wanted) as (keyof typeof wanted)[]
  return names
    .filter((name) => transmit[name] === undefined)
    .map((name) =>
      mend(
        `transmit.${name}`,
        `${wanted[name]}? Without it neither the rules nor RF exposure can be looked at`,
      ),
    )
}

/** Without its size an antenna counts as a point, which is wrong on the unsafe side for a long one. */
function antennaSizeFindings({ transmit }: RadioSection): Finding[] {
  if (transmit.antennaSizeM !== undefined || transmit.antennaGainDbi === undefined) return []
  return [
    look(
      'transmit.antennaSizeM',
      'how long is the antenna, in metres? Without it RF exposure is estimated for a point: people come nearer to the lower end of a long antenna, and its near field reaches farther',
    ),
  ]
}

function ruleFindings({ transmit, signal }: RadioSection): Finding[] {
  const notes = ruleNotes({
    frequencyMHz: transmit.frequencyMHz,
    bitRate: signal.bitRate,
    powerW: transmit.powerW,
    identificationMinutes: transmit.identificationMinutes,
    morseWordsPerMinute: transmit.morse.enabled ? transmit.morse.wordsPerMinute : undefined,
  })
  return notes.map(({ rule, text, toJudge }) =>
    (toJudge ? look : mend)('rules', `${text} (${rule}; local rules come first)`),
  )
}

/** What is told to everybody again and again shares the channel with everybody; telemetry has a rhythm of its own. */
function beaconFindings({ beacons }: Config): Finding[] {
  return beacons.schedule.flatMap(({ send, everyMinutes, path }) => {
    if (everyMinutes === undefined || send.startsWith('telemetry')) return []
    const parsed = parsePath(path.join())
    const leastMinutes = parsed.ok ? netCycleMinutes(parsed.value) : 0
    if (everyMinutes >= leastMinutes) return []
    const by = path.length === 0 ? 'without digipeaters' : `by way of ${path.join()}`
    return [
      look(
        'beacons.schedule',
        `${send} every ${everyMinutes} min ${by}: the APRS reference (chapter 2) asks for ${leastMinutes} min or more`,
      ),
    ]
  })
}

function offerFindings(config: Config): Finding[] {
  const { station, kiss, node } = config
  const findings: Finding[] = []
  if (station.latitudeDeg === undefined || station.longitudeDeg === undefined)
    findings.push(
      look(
        'station.latitudeDeg, station.longitudeDeg',
        node.gps.device === ''
          ? 'no position: distances, passes and sun times are answered only to stations that sent theirs'
          : `no position: it is taken from the GPS at ${node.gps.device}`,
      ),
    )
  if (kiss.tcp.enabled && !isLoopback(kiss.tcp.address)) {
    if (kiss.tcp.allow.length === 0)
      findings.push(
        mend(
          'kiss.tcp.allow',
          `${kiss.tcp.address} is open to others and no address is named: whoever connects could key the transmitter`,
        ),
      )
    else if (!kiss.receiveOnly)
      findings.push(
        look(
          'kiss.tcp',
          `programs on ${kiss.tcp.allow.join(', ')} may key the transmitter, and you answer for it; kiss.receiveOnly = true prevents it`,
        ),
      )
  }
  if (kiss.fullDuplexAllowed && kiss.parametersAllowed && !kiss.receiveOnly)
    findings.push(
      look(
        'kiss.fullDuplexAllowed',
        'a KISS client may have a radio send without listening first; on a shared channel switch it off',
      ),
    )
  if (config.store.file === ':memory:')
    findings.push(look('store.file', 'mailbox and notices are forgotten when the program ends'))
  return findings
}
