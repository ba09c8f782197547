import {
  formatBulletin,
  formatCapabilities,
  formatObject,
  formatPosition,
  formatStatus,
  type PositionParts,
} from '../aprs/format.js'
import {
  formatTelemetry,
  formatTelemetryEquations,
  formatTelemetryNames,
  formatTelemetryUnits,
  nameLengthMax,
  unitLengthMax,
} from '../aprs/formatTelemetry.js'
import { shortenedText } from '../aprs/messageText.js'
import { airText, keptText } from '../services/airText.js'
import type { GeoPosition, Notice, Service } from '../services/service.js'
import { splitAnswer } from '../services/splitAnswer.js'
import { usageOf } from '../services/wordingOf.js'
import type { Wording } from '../words/air/wording.js'
import type { BeaconObject, Reach, TelemetryChannel } from './beaconOptions.js'

const statusCharactersMax = 62
const commentCharactersMax = 43
/** beside PHG or RNG, which take seven */
const shortCommentCharactersMax = 36

/** Cleaned and cut for a field of limited length. */
function fieldText(text: string, charactersMax: number): string {
  return airText(text).slice(0, charactersMax).trimEnd()
}

const symbolOf = (text: string): { table: string; code: string } => ({
  table: text[0] ?? '/',
  code: text[1] ?? 'r',
})

export function positionPayload(parts: {
  readonly position: GeoPosition
  readonly symbol: string
  readonly comment: string
  readonly reach?: Reach | undefined
}): Uint8Array {
  const { reach } = parts
  return formatPosition({
    latitudeDeg: parts.position.latitudeDeg,
    longitudeDeg: parts.position.longitudeDeg,
    symbol: symbolOf(parts.symbol),
    messaging: true,
    ...(reach && extensionOf(reach)),
    comment: fieldText(parts.comment, reach ? shortCommentCharactersMax : commentCharactersMax),
  })
}

function extensionOf(reach: Reach): Pick<PositionParts, 'antenna' | 'rangeKm'> {
  if ('rangeM' in reach) return { rangeKm: reach.rangeM / 1000 }
  return { antenna: { ...reach, directionDeg: reach.directionDeg ?? 'omni' } }
}

export function statusPayload(text: string): Uint8Array {
  return formatStatus({ text: fieldText(text, statusCharactersMax) })
}

/**
 * What the node can do, in tokens of our own: MSG_CNT and LOC_CNT of the reference's chapter 15 are those of a gateway, and
 * whoever reads them takes the sender for one.
 */
export function capabilitiesPayload(messageCount: number, stationCount: number): Uint8Array {
  return formatCapabilities({
    QUESTIONS: true,
    ANSWERED: String(messageCount),
    HEARD: String(stationCount),
  })
}

/** BLN0 and on: what can be asked here, as many lines as it takes, at most five. */
export function serviceBulletins(
  call: string,
  services: readonly Service[],
  wording: Wording,
): Uint8Array[] {
  const list = services.map((service) => usageOf(service, wording)).join(', ')
  const text = wording.say('announcement', { call, list })
  return splitAnswer(text, { messagesMax: 5 }).map((line, index) =>
    formatBulletin({ id: String(index), text: line }),
  )
}

/** BLN5 to BLN9: the newest notices. */
export function noticeBulletins(notices: readonly Notice[]): Uint8Array[] {
  return notices.slice(0, 5).map(({ from, text }, index) =>
    formatBulletin({
      id: String(index + 5),
      text: shortenedText(keptText(`${from}: ${text}`)),
    }),
  )
}

/** BLNA and on: an announcement each (chapter 14). */
export const announcementBulletins = (texts: readonly string[]): Uint8Array[] =>
  texts.slice(0, 26).map((text, index) =>
    formatBulletin({
      id: String.fromCharCode(0x41 + index),
      text: shortenedText(airText(text)),
    }),
  )

/** @param live false says that it is there no longer */
export function objectPayload(
  object: Omit<BeaconObject, 'isToldWhenGone'>,
  atWallMs: number,
  live = true,
): Uint8Array {
  return formatObject({
    name: objectName(object),
    live,
    atWallMs,
    latitudeDeg: object.position.latitudeDeg,
    longitudeDeg: object.position.longitudeDeg,
    symbol: symbolOf(object.symbol),
    comment: fieldText(object.comment, commentCharactersMax),
  })
}

/** As it goes out. */
export const objectName = ({ name }: Pick<BeaconObject, 'name'>): string =>
  fieldText(name, 9) || 'OBJECT'

/** What the node adds to the telemetry of its own: share of the duty limit used, and frames heard since the last report. */
export interface OwnTelemetry {
  readonly dutyUsed: number
  readonly framesHeard: number
}

const ownChannels: readonly Omit<TelemetryChannel, 'read'>[] = [
  { name: 'Duty', unit: 'pct', step: 0.5, offset: 0 },
  { name: 'Heard', unit: 'pkt', step: 1, offset: 0 },
]
const givenChannelsMax = 5 - ownChannels.length

export function telemetryPayload(
  sequence: number,
  given: readonly TelemetryChannel[],
  own: OwnTelemetry,
): Uint8Array {
  const channels = given.slice(0, givenChannelsMax)
  const readings = channels.map((channel) => ({ ...channel, value: channel.read() }))
  const all = [
    ...readings,
    { ...ownChannels[0]!, value: own.dutyUsed * 100 },
    { ...ownChannels[1]!, value: own.framesHeard },
  ]
  const analog = all.map(({ value, step, offset }) =>
    value === undefined ? 0 : Math.max(0, Math.min(255, Math.round((value - offset) / step))),
  )
  return formatTelemetry({
    sequence: sequence % 1000,
    analog: [...analog, 0, 0, 0, 0, 0].slice(0, 5),
    digital: Array.from({ length: 8 }, (_, index) => readings[index]?.value !== undefined),
  })
}

/** Names, units and equations of the telemetry, as messages to ourselves (chapter 13). */
export function telemetryDefinitions(
  call: string,
  given: readonly TelemetryChannel[],
): Uint8Array[] {
  const channels = [...given.slice(0, givenChannelsMax), ...ownChannels]
  const label = (text: string, charactersMax: number): string =>
    fieldText(text.replaceAll(',', ' '), charactersMax)
  return [
    formatTelemetryNames(
      call,
      channels.map(({ name }, index) => label(name, nameLengthMax[index]!)),
    ),
    formatTelemetryUnits(
      call,
      channels.map(({ unit }, index) => label(unit, unitLengthMax[index]!)),
    ),
    formatTelemetryEquations(
      call,
      channels.map(({ step, offset }) => [0, step, offset] as const),
    ),
  ]
}
