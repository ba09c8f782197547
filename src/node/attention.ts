import { describePayload } from '../aprs/describe.js'
import { positionOf, weatherOf } from '../aprs/parse.js'
import { duplicateWindowMs } from '../aprs/path.js'
import type { AprsPayload, QueryPayload, Weather } from '../aprs/types.js'
import { formatAddress, isWellFormed } from '../ax25/address.js'
import { decodeFrame } from '../ax25/frame.js'
import type { HeardFrame } from '../radio/port.js'
import type { Clock } from '../runtime/clock.js'
import { counted } from '../runtime/counted.js'
import type { NamesView } from '../services/event/namesView.js'
import type { GeoPosition } from '../services/service.js'
import { plausibleWeather, type WeatherFigures } from '../services/weather/plausible.js'
import { nothingAsked } from '../store/events.js'
import type { Store } from '../store/store.js'
import { acknowledgedInReturn } from './acknowledgedInReturn.js'
import { addresseeOf, callIsListed } from './addressing.js'
import type { Conversations } from './conversation.js'
import { copies, copyKey } from './copies.js'
import { type EmergencyCall, emergencyIn } from './emergency.js'
import type { EmergencyAnswers } from './emergencyAnswers.js'
import type { HeardBulletins } from './heardBulletins.js'
import { type Heard, readHeard } from './intake.js'
import type { Journal } from './journal.js'
import type { Mail } from './mail.js'
import type { WordingFor } from './nodeWording.js'
import type { NodeOptions } from './options.js'
import type { Outbox } from './outbox.js'
import { directedReply, generalReply, type QueryReply } from './queries.js'
import { repeatedVia } from './replyPath.js'
import type { ShortNumbers } from './shortNumbers.js'
import type { Tally } from './tally.js'
import type { ViaTable } from './viaTable.js'

/** The node never acts on a frame that needed more repair than this. */
const repairedBitsMax = 1

export interface AttentionParts {
  readonly clock: Clock
  readonly store: Store
  readonly note: Journal
  readonly tally: Tally
  readonly options: NodeOptions
  readonly outbox: Outbox
  readonly mail: Mail
  readonly conversations: Conversations
  readonly emergencies: Pick<EmergencyAnswers, 'answerUnasked'>
  /** @returns undefined for what is no call for help */
  readonly noticeEmergency: (heard: Heard) => EmergencyCall | undefined
  readonly bulletins: HeardBulletins
  readonly via: ViaTable
  readonly shortNumbers: ShortNumbers
  readonly position: () => GeoPosition | undefined
  /** the tactical names of an event; absent where none is configured */
  readonly names?: NamesView | undefined
  /** a station that may be spoken to was heard */
  readonly onHeard: (call: string) => void
  /** local time at which the quiet hours that hold now are over */
  readonly quietUntil: () => string | undefined
  /** a control operator: his messages are answered at any hour */
  readonly isOperator: (call: string) => boolean
  /** @returns why nothing is answered */
  readonly onQuery: (heard: Heard, replies: readonly QueryReply[]) => string | undefined
  readonly wording: WordingFor
}

/**
 * What the node does with each frame that it hears: keeps it, notes its station, and gives it to whom it concerns.
 * Every frame leaves one event, with the reason where nothing was done.
 */
export function attention(parts: AttentionParts): (frame: HeardFrame) => void {
  const { clock, store, note, options, outbox, mail } = parts
  const seen = copies(duplicateWindowMs)
  const inReturn = acknowledgedInReturn(clock, outbox)

  const take = (frame: HeardFrame): void => {
    const [intake, { radio }] = [readHeard(frame), frame]
    keepFrame(store, frame, intake.ok ? intake.heard.source : (intake.source ?? ''))
    if (!intake.ok) {
      const text = `${frame.octets.length} octets`
      note('ignored', text, { radio, station: intake.source, reason: intake.reason })
      return
    }
    const { heard } = intake
    const [detail, text] = [{ radio, station: heard.source }, describePayload(heard.payload)]
    const repair = repairReason(frame)
    if (repair !== undefined) note('repaired', text, { ...detail, reason: repair })
    if (frame.repairedBits > repairedBitsMax) return
    if (heard.source === options.call || heard.from === options.call) {
      note('ignored', text, { ...detail, reason: 'our own frame' })
      return
    }
    const isCopy =
      seen.note(copyKey(heard.ax25), heard.via.join(), clock.monotonicMs()) !== undefined
    addStation(parts, heard)
    if (!isCopy) parts.bulletins.take(heard)
    const reason = act(heard, isCopy, callIn(parts, heard, isCopy))
    note('heard', text, { ...detail, reason })
    outbox.stationHeard(heard.source)
    if (!isSpokenTo(parts, heard.source)) return
    mail.stationHeard(heard.source, radio)
    parts.onHeard(heard.source)
  }

  /** @returns why nothing was done with it */
  const act = (heard: Heard, isCopy: boolean, call?: EmergencyCall): string | undefined => {
    const { payload, from } = heard
    const nothing = nothingToAnswer(payload)
    if (nothing !== undefined && (call === undefined || isCopy)) return nothing
    if (!options.answering) return 'answering is switched off'
    if (callIsListed(from, options.ignored)) return 'on the list of stations not to answer'
    if (isAddressed(payload)) return actOnMessage(toName(heard, parts), isCopy, call)
    if (isCopy) return payload.kind === 'query' || call !== undefined ? heardBefore : nothingAsked
    if (call !== undefined) return parts.emergencies.answerUnasked(heard)
    if (payload.kind !== 'query') return nothingAsked
    return quietReason(parts, heard) ?? answerEverybody(parts, heard, payload)
  }

  const actOnMessage = (
    heard: Heard,
    isCopy: boolean,
    call?: EmergencyCall,
  ): string | undefined => {
    const { payload, from } = heard
    if (!('addressee' in payload)) return nothingAsked
    const to = addresseeOf(payload.addressee, options)
    if (to.kind === 'group' && call !== undefined)
      return isCopy ? heardBefore : parts.emergencies.answerUnasked(heard)
    if (to.kind === 'group') return 'a message to everybody is never answered'
    if (to.kind === 'other') return 'not addressed to us'
    parts.via.note(heard, clock.monotonicMs())
    const quiet = call === undefined ? quietReason(parts, heard) : undefined
    if (quiet !== undefined) return quiet
    switch (payload.kind) {
      case 'acknowledgement':
        return outbox.acknowledged(from, payload.number, 'by its receiver')
          ? undefined
          : unknownNumber
      case 'rejection':
        return outbox.rejected(from, payload.number) ? undefined : unknownNumber
      case 'directedQuery': {
        // one with a number is acknowledged again, and its copies are found by that
        if (isCopy && payload.numberAsSent === undefined) return heardBefore
        const acknowledges = payload.numberAsSent?.split('}')[1]
        if (acknowledges) outbox.acknowledged(from, acknowledges, 'by a message in return')
        return answerDirected(parts, heard, payload)
      }
      case 'message': {
        inReturn(from, payload)
        parts.shortNumbers.note(from, payload.replyAcknowledges !== undefined)
        parts.conversations.take(heard, payload, to, call)
        return undefined
      }
      default:
        return nothingAsked
    }
  }

  return take
}

/** A copy is not marked again; where the first one could not be kept, it is a call for help all the same. */
const callIn = (parts: AttentionParts, heard: Heard, isCopy: boolean): EmergencyCall | undefined =>
  isCopy ? emergencyIn(heard.payload, parts.options.emergency) : parts.noticeEmergency(heard)

const isAddressed = (payload: AprsPayload): boolean =>
  payload.kind !== 'query' && 'addressee' in payload

/** What is sent to a tactical name is left with us for whoever holds it; anything else stays as it is. */
function toName(heard: Heard, { names, options }: AttentionParts): Heard {
  const { payload } = heard
  const name = payload.kind === 'message' ? names?.nameOf(payload.addressee) : undefined
  if (payload.kind !== 'message' || name === undefined) return heard
  if (addresseeOf(payload.addressee, options).kind !== 'other') return heard
  const text = `leave ${name} ${payload.text}`
  return { ...heard, payload: { ...payload, addressee: options.call, text } }
}

/** What is not asked for is told to this station. */
const isSpokenTo = ({ options, quietUntil }: AttentionParts, call: string): boolean =>
  options.answering && !callIsListed(call, options.ignored) && quietUntil() === undefined

function answerDirected(
  { options, store, clock, onQuery, wording }: AttentionParts,
  heard: Heard,
  payload: Parameters<typeof directedReply>[0],
): string | undefined {
  const own = {
    ...{ call: options.call, stations: store.stations, wallMs: clock.wallMs() },
    wording: wording(),
  }
  return onQuery(heard, [directedReply(payload, heard, own)])
}

/** What acknowledges a message of ours, such as the operator's, ends it at any hour. */
function quietReason(
  { quietUntil, isOperator }: AttentionParts,
  { payload, from }: Heard,
): string | undefined {
  if (payload.kind === 'acknowledgement' || payload.kind === 'rejection') return undefined
  const until = quietUntil()
  return until === undefined || isOperator(from) ? undefined : `quiet hours until ${until}`
}

const heardBefore = 'copy of a frame heard before'
const unknownNumber = 'no message of ours has this number'

/** Who acknowledges by a reply gets short numbers. */
function nothingToAnswer(payload: AprsPayload): string | undefined {
  if (payload.kind === 'bulletin') return 'a bulletin is never answered'
  if (payload.kind === 'unreadable') return `unreadable: ${payload.reason}`
  if (payload.kind === 'telemetryDefinition') return nothingAsked
  return 'addressee' in payload || payload.kind === 'query' ? undefined : nothingAsked
}

/** What was wrong with a frame as it was heard; undefined where it came as it was sent. */
function repairReason({ repairedBits, code }: HeardFrame): string | undefined {
  if (repairedBits > 0)
    return `repaired by ${counted(repairedBits, 'bit')}${repairedBits > repairedBitsMax ? ': kept, not acted on' : ''}`
  if (code === undefined || code.correctedOctets === 0) return undefined
  return `${counted(code.correctedOctets, 'octet')} corrected by ${code.kind}`
}

function answerEverybody(
  { position, options, onQuery }: AttentionParts,
  heard: Heard,
  payload: QueryPayload,
): string | undefined {
  const hasInstrument = options.beacons.weather !== undefined
  return onQuery(heard, generalReply(payload, position(), hasInstrument))
}

/** Keeps a frame of a connection, which says itself what becomes of it, and notes its station as heard. */
export function keepConnected(store: Store, frame: HeardFrame, own: string): void {
  const decoded = decodeFrame(frame.octets)
  const source = decoded.ok ? formatAddress(decoded.frame.source) : ''
  keepFrame(store, frame, source)
  if (!decoded.ok || !isWellFormed(decoded.frame.source)) return
  if (frame.repairedBits > repairedBitsMax || source === own) return
  const { heardAtWallMs: atWallMs, radio, quality } = frame
  const via = repeatedVia(decoded.frame.path)
  store.stations.add({ call: source, atWallMs, radio, via, quality })
}

function keepFrame(store: Store, frame: HeardFrame, source: string): void {
  store.frames.add({
    heardAtWallMs: frame.heardAtWallMs,
    radio: frame.radio,
    source,
    octets: frame.octets,
    repairedBits: frame.repairedBits,
    detector: frame.detector,
    quality: frame.quality,
  })
}

function addStation({ store, tally }: AttentionParts, heard: Heard): void {
  const { frame, payload, thirdParty } = heard
  // What a third-party frame tells is of somebody else, heard by somebody else.
  const own = thirdParty ? undefined : payload
  const moving = own?.kind === 'position' || own?.kind === 'micE' ? own : undefined
  store.stations.add({
    call: heard.source,
    atWallMs: frame.heardAtWallMs,
    radio: frame.radio,
    via: heard.via,
    quality: frame.quality,
    position: own && positionOf(own),
    symbol: moving && moving.position.symbol.table + moving.position.symbol.code,
    weather: plausibleOf(own && weatherOf(own), tally),
    status: own?.kind === 'status' ? own.text : undefined,
  })
}

/** What no weather is, is not kept, and neither is a report that says nothing: it would stand in the place of one that did. */
function plausibleOf(weather: Weather | undefined, tally: Tally): WeatherFigures | undefined {
  if (weather === undefined) return undefined
  const { figures, outside } = plausibleWeather(weather)
  for (const field of outside)
    tally.note('weather left out', `${field} outside of what weather can be`)
  return Object.keys(figures).length === 0 ? undefined : figures
}
