import type { Config, RadioSection } from '../../config/schema.js'
import { combinedExposure, type Transmitter } from '../../exposure/combined.js'
import { estimateExposure } from '../../exposure/estimate.js'
import { bandOf } from '../../regulations/amateurBands.js'
import { emissions } from '../../regulations/rules.js'
import { bothLengths, significant } from '../exposure/exposureReport.js'
import { dutyLimitsOf, figuresOfRadio, limitsOfConfig, siteOf } from '../exposure/exposureSite.js'
import { alertLines } from './checkAlerts.js'
import { brokerLines } from './checkBroker.js'
import { connectedLines } from './checkConnected.js'
import { digipeaterLines } from './checkDigipeater.js'
import { emailLines } from './checkEmail.js'
import { eventLines } from './checkEvent.js'
import { hillLines } from './checkHills.js'

/** The configuration in plain words: a heading, and lines of label and text. */
export interface PlanPart {
  readonly heading: string
  readonly lines: readonly (readonly [label: string, text: string])[]
}

/** Who, where, what is heard and sent and how, and what is offered. */
export function planOf(config: Config): PlanPart[] {
  return [
    { heading: 'Station', lines: stationLines(config) },
    ...config.radios.map((radio, number) => ({
      heading: `Radio ${number}, "${radio.name}"`,
      lines: radioLines(config, radio),
    })),
    ...siteParts(config),
    { heading: 'Offered', lines: offeredLines(config) },
    ...(config.digipeater.enabled
      ? [{ heading: 'Digipeater', lines: digipeaterLines(config) }]
      : []),
    ...(config.connected.enabled
      ? [{ heading: 'Connected mode', lines: connectedLines(config) }]
      : []),
    ...(config.email.enabled ? [{ heading: 'Mail', lines: emailLines(config) }] : []),
    ...(config.event.name !== '' ? [{ heading: 'Event', lines: eventLines(config) }] : []),
    ...(config.hills.enabled ? [{ heading: 'From hill to hill', lines: hillLines(config) }] : []),
    ...(config.broker.enabled ? [{ heading: 'At a broker', lines: brokerLines(config) }] : []),
    ...(config.alerts.rule.length > 0 ? [{ heading: 'Alerts', lines: alertLines(config) }] : []),
  ]
}

function stationLines({ station, store }: Config): [string, string][] {
  const { call, controlOperator, latitudeDeg, longitudeDeg, heightM } = station
  return [
    ['call sign', call],
    ['control operator', controlOperator === '' ? 'nobody is named' : controlOperator],
    [
      'position',
      latitudeDeg === undefined || longitudeDeg === undefined
        ? 'not given'
        : `${hemisphere(latitudeDeg, 'N', 'S')}, ${hemisphere(longitudeDeg, 'E', 'W')}, ${heightM} m above sea`,
    ],
    ['database', store.file],
  ]
}

const hemisphere = (degrees: number, positive: string, negative: string): string =>
  `${Math.abs(degrees).toFixed(4)} ${degrees < 0 ? negative : positive}`

function radioLines(config: Config, radio: RadioSection): [string, string][] {
  const { audio, modem, transmit } = radio
  const hears: [string, string] =
    modem.kind === 'none'
      ? ['hears', `${audio.input}, ${channelWords(radio)}`]
      : ['modem', `external, ${modemWords(modem)}`]
  const { enabled, frequencyMHz, powerW } = transmit
  if (!enabled && (frequencyMHz === undefined || powerW === undefined))
    return [hears, ['sends', 'nothing: transmit.enabled is false']]
  return [
    hears,
    ...(enabled
      ? []
      : ([['sends', 'nothing yet: transmit.enabled is false; with it, this:']] as [
          string,
          string,
        ][])),
    ['sends on', frequencyWords(radio)],
    ['power', powerWords(radio)],
    ...(modem.kind === 'none'
      ? ([
          ['audio out', audio.output ?? 'none'],
          ['keyed by', keyWords(radio)],
        ] as [string, string][])
      : []),
    ['limits', limitWords(radio)],
    ['channel', channelAccessWords(radio)],
    ['identifies', identificationWords(config, radio)],
    ['held by', holdWords(radio)],
    ['exposure', exposureWords(config, radio)],
  ]
}

const channelWords = ({ audio }: RadioSection): string =>
  audio.input.startsWith('wav:')
    ? `channel ${audio.channel}`
    : `${audio.rateHz} samples a second, channel ${audio.channel} of ${audio.channelCount}`

const modemWords = (modem: RadioSection['modem']): string =>
  modem.kind === 'serial'
    ? `${modem.device} at ${modem.lineBitRate} bit/s, its port ${modem.modemPort}`
    : `${modem.host}:${modem.port}, its port ${modem.modemPort}`

function frequencyWords({ transmit, signal }: RadioSection): string {
  const { frequencyMHz } = transmit
  const { name, baud } = emissions[signal.bitRate]
  if (frequencyMHz === undefined) return 'a frequency that is not given'
  const band = transmit.band ?? bandOf(frequencyMHz)?.name
  return `${significant(frequencyMHz, 7)} MHz (${band ?? 'no amateur band that is known here'}), ${name} ${baud} baud on FM`
}

function powerWords(radio: RadioSection): string {
  const { powerW, feedLineLossDb, antennaGainDbi, antennaHeightM } = radio.transmit
  if (powerW === undefined) return 'not given'
  const parts = [
    `${significant(powerW)} W`,
    `${significant(feedLineLossDb)} dB lost in the feed line`,
  ]
  const site = siteOf({ frequencyMHz: 144, ...figuresOfRadio(radio) }, 'average')
  const result = site.ok ? estimateExposure(site.site) : undefined
  if (result?.ok)
    parts.push(
      `${significant(result.estimate.powerAtAntennaW)} W at the antenna`,
      `gain ${significant(antennaGainDbi ?? 0)} dBi`,
      `EIRP ${significant(result.estimate.peakEirpW)} W`,
    )
  if (antennaHeightM !== undefined) parts.push(`${significant(antennaHeightM)} m above people`)
  return parts.join(', ')
}

function keyWords({ ptt }: RadioSection): string {
  const polarity = ptt.activeLow ? ', keyed when low' : ''
  const log = ptt.logFile === '' ? '' : `, logged to ${ptt.logFile}`
  const hang = ptt.hangMs === undefined ? '' : `, and stays on the air for ${ptt.hangMs} ms after`
  switch (ptt.kind) {
    case 'none':
      return `nothing: the radio keys itself on audio (VOX)${hang}${log}`
    case 'log':
      return `nothing; edges are written to ${ptt.logFile}`
    case 'command':
      return `${ptt.keyCommand.join(' ')}; unkeyed by ${ptt.unkeyCommand.join(' ')}${hang}${log}`
    default:
      return `${ptt.kind} ${ptt.device} line ${ptt.line ?? 'of its default'}${polarity}${hang}${log}`
  }
}

function limitWords({ transmit }: RadioSection): string {
  const duty = dutyLimitsOf(transmit).map(
    ({ windowS, share }) => `${significant(share * 100)} % of any ${significant(windowS / 60)} min`,
  )
  return `at most ${significant(transmit.timeOutMs / 1000)} s at a time, ${duty.join(', ')}; beyond that frames are held`
}

function channelAccessWords({ transmit }: RadioSection): string {
  if (transmit.fullDuplex) return 'full duplex: sends without listening first'
  const probability = significant((transmit.persistence + 1) / 256)
  return `waits until it is free, then sends with p = ${probability} each ${transmit.slotTimeMs} ms; ${transmit.keyDelayMs} ms of flags first, ${transmit.tailMs} ms after`
}

function identificationWords({ station }: Config, { transmit, modem }: RadioSection): string {
  const morse =
    transmit.morse.enabled && modem.kind === 'none'
      ? ` and in Morse at ${transmit.morse.wordsPerMinute} words a minute`
      : ''
  return `as ${station.call}, in an AX.25 frame${morse}, at least every ${transmit.identificationMinutes} min and at the end (${transmit.identificationQuietS} s of silence)`
}

function holdWords({ transmit }: RadioSection): string {
  const { holdFile, holdInput } = transmit
  const line = `${holdInput.device} line ${holdInput.line ?? ''}`.trimEnd()
  const input = holdInput.kind === 'command' ? holdInput.command.join(' ') : line
  return [
    'the operator (the word hold at the terminal of `run`)',
    ...(holdFile === '' ? [] : [`the file ${holdFile} while it exists`]),
    ...(holdInput.kind === 'none' ? [] : [`${holdInput.kind} ${input}`]),
  ].join(', ')
}

function exposureWords(config: Config, radio: RadioSection): string {
  const one = transmitterOf(config, radio)
  return one === undefined
    ? 'unknown: see below what is missing'
    : `${keepAwayWords([one])}: an estimate by ${one.estimate.limits}, see \`exposure\``
}

/** Transmitters of one site add up. */
function siteParts(config: Config): PlanPart[] {
  const known = config.radios.flatMap((radio) => transmitterOf(config, radio) ?? [])
  if (known.length < 2) return []
  const text = `${keepAwayWords(known)}, with all ${known.length} keyed as much as each may be`
  return [{ heading: 'All radios together', lines: [['exposure', text]] }]
}

function transmitterOf(config: Config, radio: RadioSection): Transmitter | undefined {
  const site = siteOf(figuresOfRadio(radio), 'average')
  const result = site.ok ? estimateExposure(site.site, limitsOfConfig(config.exposure)) : undefined
  return site.ok && result?.ok ? { site: site.site, estimate: result.estimate } : undefined
}

function keepAwayWords(transmitters: readonly Transmitter[]): string {
  const general = combinedExposure(transmitters, 'general')
  const occupational = combinedExposure(transmitters, 'occupational')
  const ground =
    general.groundDistanceM === undefined
      ? ''
      : general.groundDistanceM === 0
        ? '; nobody on level ground is too near'
        : `; everybody ${bothLengths(general.groundDistanceM)} from the foot of the mast`
  return `keep everybody ${bothLengths(general.keepAwayM)}, trained people (occupational) ${bothLengths(occupational.keepAwayM)} from the antenna${ground}`
}

function offeredLines(config: Config): [string, string][] {
  const { kiss, services } = config
  const ends = [
    ...(kiss.tcp.enabled ? [`TCP ${kiss.tcp.address}:${kiss.tcp.port}`] : []),
    ...kiss.serial.map(({ device, lineBitRate }) => `${device} at ${lineBitRate} bit/s`),
    ...kiss.pseudoTerminals,
  ]
  const sending = !kiss.receiveOnly && config.radios.some(({ transmit }) => transmit.enabled)
  const sendingWords = sending ? ' (clients may send, within the same limits)' : ' (receive only)'
  const kissWords = ends.length === 0 ? 'nowhere' : `${ends.join(', ')}${sendingWords}`
  const allow =
    kiss.tcp.enabled && kiss.tcp.allow.length > 0 ? kiss.tcp.allow.join(', ') : undefined
  const off = services.off.length === 0 ? '' : `; off: ${services.off.join(', ')}`
  return [
    ['KISS', kissWords],
    ...(ends.length === 0 ? [] : [kissModes(config)]),
    ...(allow === undefined
      ? []
      : ([['KISS clients', `loopback and ${allow}`]] as [string, string][])),
    ['answers', `${answersWords(config)}${off}`],
    ['beacons', config.beacons.schedule.map((one) => one.send).join(', ') || 'none'],
  ]
}

/** How clients are spoken to; the paper of 1991 beyond that of 1987 (see README, KISS). */
function kissModes({ kiss }: Config): [string, string] {
  const lines = kiss.serial.flatMap(({ device, checksum, polled }) => {
    const modes = [...(checksum ? ['checksum'] : []), ...(polled ? ['polled'] : [])]
    return modes.length === 0 ? [] : [`${device}: ${modes.join(' and ')}`]
  })
  return ['KISS modes', ['plain and acknowledged at every end', ...lines].join('; ')]
}

/** Where nothing is sent, nothing is answered, whatever node.answer says. */
function answersWords({ node, radios }: Config): string {
  if (!node.answer) return 'none: node.answer is false'
  const sends = radios.some(({ transmit }) => transmit.enabled)
  return sends ? 'to questions on the air' : 'none: sending is off'
}
