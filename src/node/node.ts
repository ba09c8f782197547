import type { HeardFrame } from '../radio/port.js'
import type { Cancel } from '../runtime/clock.js'
import { type ClockTrust, clockTrust, wallAgeMs } from '../runtime/clockTrust.js'
import { createGuard, type Guard, guardedClock } from '../runtime/guard.js'
import type { OffsetAt } from '../runtime/localTime.js'
import { geodesicBetween } from '../services/geo/geodesic.js'
import { notReadyAmong } from '../services/readiness.js'
import type { GeoPosition, NoticesView } from '../services/service.js'
import type { MessageRecord } from '../store/messages.js'
import type { Store } from '../store/store.js'
import type { ContextFor } from './answering.js'
import { attention, keepConnected } from './attention.js'
import { type BeaconKind, beaconKinds } from './beaconOptions.js'
import { beacons } from './beacons.js'
import { board } from './board.js'
import type { ConnectedNeeds } from './connected/connectedMode.js'
import type { Connections } from './connected/connections.js'
import { type Conversing, conversing } from './conversing.js'
import type { Digipeater, MakeDigipeater } from './digipeater/digipeater.js'
import type { EmailLink } from './email/email.js'
import { emergencyMarks } from './emergencyMarks.js'
import { startExpiry } from './expiry.js'
import { heardBulletins } from './heardBulletins.js'
import type { Hills } from './hills/hills.js'
import { type Journal, journal } from './journal.js'
import { offsetOf, ownOptions, takeOptions } from './liveOptions.js'
import type { Mail } from './mail.js'
import { messageNumber } from './messageNumber.js'
import { wordingFor } from './nodeWording.js'
import { operatorMessages } from './operatorMessages.js'
import type { NodeOptions } from './options.js'
import { type OtherNodes, otherNodes } from './otherNodes.js'
import type { Outbox } from './outbox.js'
import { queryAnswers } from './queryAnswers.js'
import { quietUntil } from './quietHours.js'
import { replyPath } from './replyPath.js'
import type { NodeParts, ServiceNode } from './serviceNode.js'
import { shortNumbers } from './shortNumbers.js'
import { tally } from './tally.js'
import { type Transmitter, transmitter } from './transmitter.js'
import { viaTable } from './viaTable.js'

/** Where and when the node is, as far as it knows. */
interface Whereabouts {
  position: GeoPosition | undefined
  positionSource: string
  timeSource: string
}

/** More than one page can show. */
const waitingShownMax = 100

/** Builds the node; it listens from `start` on. */
export function createNode(given: NodeParts): ServiceNode {
  const options = ownOptions(given.options)
  const where: Whereabouts = { ...placeOf(options), timeSource: 'system' }
  const guard = createGuard(({ what, reason }) => note('fault', what, { reason }))
  const onEvent = given.onEvent && guard.listener('telling an event', given.onEvent)
  const note = journal(given.store, given.clock, onEvent)
  const clock = guardedClock(given.clock, guard)
  const parts = { ...given, options, clock, clockTrust: given.clockTrust ?? clockTrust(clock) }
  let running = false
  let framesHeard = 0
  let cancelExpiry: Cancel = () => {}
  const members = assemble(parts, options, where, { note, guard, framesHeard: () => framesHeard })
  const { store } = parts

  const onFrame = (frame: HeardFrame): void => {
    if (!running) return
    framesHeard++
    if (members.connected?.take(frame)) keepConnected(parts.store, frame, options.call)
    else members.attend(frame)
    members.digipeater?.take(frame)
    members.hills?.take(frame)
  }
  for (const port of parts.ports) port.onFrame(guard.listener('a frame that was heard', onFrame))

  return {
    // Each step on its own: what an older run left behind must not keep the node from listening.
    start({ withoutPast = false } = {}) {
      if (running) return
      running = true
      note('started', `node ${options.call}`)
      if (!withoutPast) {
        guard.call('the mailbox at the start', members.conversing.mail.start)
        guard.call('answers to calls for help', members.conversing.emergencies.resume)
        guard.call('messages under way', () => addMessages(store, guard, members.conversing.outbox))
        guard.call('questions left open', members.conversing.resume)
      }
      guard.call('beacons and services at the start', () => begin(members))
      cancelExpiry = startExpiry({ ...parts, note, options, mail: members.conversing.mail })
      noteBadRows(store, note)
    },
    stop() {
      running = false
      cancelExpiry()
      stopAll(members, guard)
      store.flush()
    },
    state: () => ({
      call: options.call,
      position: where.position,
      ...underWay(members),
      ...optionalStates(members),
      // Looks into the database: not for whoever wants a count.
      get notOffered() {
        return notReadyAmong(parts.services, { clock, stations: store.stations })
      },
      mailboxCount: store.reading('the mailbox', 0, () => store.mailbox.openCount),
      framesHeardCount: framesHeard,
      faultCount: guard.faultCount,
    }),
    setPosition(position, source) {
      Object.assign(where, { position, positionSource: source })
    },
    setOptions(next) {
      if (where.positionSource !== 'GPS') Object.assign(where, placeOf(next))
      if (takeOptions(options, next) && running)
        guard.call('beacons after a reload', members.beacons.start)
    },
    setTimeSource(source) {
      where.timeSource = source
    },
    namesChanged() {
      if (running) members.conversing.mail.namesChanged()
    },
    beaconNow(kind) {
      if (beaconKinds.includes(kind as BeaconKind)) members.beacons.send(kind as BeaconKind)
    },
    say: (message) =>
      running ? members.say(message) : { ok: false, reason: 'the node has stopped' },
    drop: (id, reason) => members.transmitter.drop(id, reason),
    findEntries: (words) => members.hills?.find(words),
    withdrawEntry: (id) => members.hills?.withdraw(id),
  }
}

function noteBadRows(store: NodeParts['store'], note: Journal): void {
  const { badRowCount } = store.state()
  if (badRowCount === 0) return
  const rows = `${badRowCount} row${badRowCount === 1 ? ' is' : 's are'} not whole: left out, and kept`
  note('fault', 'the database at the start', { reason: rows })
}

/** What waits, and what came to nothing. */
const underWay = ({
  conversing: { openQuestionCount, outbox },
  transmitter,
  tally,
}: Pick<ReturnType<typeof assemble>, 'conversing' | 'transmitter' | 'tally'>) => ({
  openQuestionCount,
  openMessageCount: outbox.openCount,
  parkedMessageCount: outbox.parkedCount,
  waiting: transmitter.waiting().slice(0, waitingShownMax),
  endings: tally.endings,
})

/** Of what is not there in every node. */
function optionalStates({
  digipeater,
  connected,
  hills,
  email,
}: {
  readonly digipeater: Digipeater | undefined
  readonly connected: Connections | undefined
  readonly hills: Hills | undefined
  readonly email: EmailLink | undefined
}) {
  return {
    ...(digipeater && {
      digipeater: { repeatedCount: digipeater.repeatedCount, reasons: digipeater.reasons },
    }),
    ...(connected && {
      connected: { openCount: connected.openCount, counts: connected.counts },
    }),
    ...(hills && { hills: hills.state }),
    ...(email && { email: email.state }),
  }
}

/** Thousands may wait: each is looked at once. */
function byStation(messages: readonly MessageRecord[]): Map<string, MessageRecord[]> {
  const found = new Map<string, MessageRecord[]>()
  for (const message of messages) {
    const own = found.get(message.to)
    if (own === undefined) found.set(message.to, [message])
    else own.push(message)
  }
  return found
}

/** What sends goes last: the others take back what they have given it. */
function stopAll(members: ReturnType<typeof assemble>, guard: Guard): void {
  const { beacons, queries, hills, email, connected, conversing, digipeater } = members
  const inOrder = [beacons, queries, hills, email, connected, conversing, digipeater]
  for (const member of [...inOrder, members.transmitter])
    if (member !== undefined) guard.call('stopping', () => member.stop())
}

const placeOf = ({ position }: NodeOptions) => ({
  position,
  positionSource: position === undefined ? 'unknown' : 'config',
})

/** What the members share besides the node's parts. */
interface Shared {
  readonly note: Journal
  readonly guard: Guard
  readonly framesHeard: () => number
}

/** NodeParts with nothing left open. */
type WholeParts = NodeParts & { readonly clockTrust: ClockTrust }

/** The node's members, each given what it needs of the others. */
function assemble(
  parts: WholeParts,
  options: NodeOptions,
  where: Whereabouts,
  { note, guard, framesHeard }: Shared,
) {
  const { clock, clockTrust, store, ports, services, random } = parts
  const position = (): GeoPosition | undefined => where.position
  const offsetAt = offsetOf(options)
  const quiet = quietNow(options, parts, offsetAt)
  const own = { tally: tally(), wording: wordingFor(parts, options) }
  const radioFor = radioOf(parts)
  const also = { ...own, names: parts.event?.names, options, radioFor, quietUntil: quiet }
  const common = { clock, clockTrust, random, store, note, ...also }
  const via = viaTable()
  const short = shortNumbers()
  const pathTo = (call: string): readonly string[] =>
    replyPath(via.find(call) ?? store.stations.find(call)?.via ?? [], options.answers, options.call)
  const newNumber = (call: string): string => {
    const isShort = short.has(call)
    return messageNumber(store.count(isShort ? 'short number' : 'number'), isShort)
  }
  const sending = { guard, ports, nextId: parts.nextId, call: options.call }
  const ownTransmitter = transmitter({ ...common, ...sending })
  const notices = board({ ...common, options: options.notices })
  const bulletins = heardBulletins(common)
  const others = otherNodes(parts)
  const conversations = conversing({
    ...common,
    ...{ nextId: parts.nextId, bootId: parts.bootId },
    ...{ services, vocabulary: parts.vocabulary, transmitter: ownTransmitter },
    pathTo,
    newNumber,
    contextFor: (mailbox) =>
      contextMaker(parts, options, offsetAt, where, { mailbox, notices, others }),
    ...others.told,
  })
  others.begin({ ...common, transmitter: ownTransmitter, newNumber }, conversations, bulletins)
  const ownBeacons = beacons({
    ...common,
    ...{ ports, transmitter: ownTransmitter, services, notices, options: options.beacons },
    ...{ call: options.call, position, framesHeard, event: parts.event },
    status: () => parts.event?.status() ?? options.status,
    isQuiet: () => quiet() !== undefined,
  })
  const queries = queryAnswers({
    ...{ ...common, pathTo },
    nextId: parts.nextId,
    transmitter: ownTransmitter,
    outbox: conversations.outbox,
    beacons: ownBeacons,
  })
  const noticeEmergency = emergencyMarks({
    ...common,
    onEmergency: parts.onEmergency && guard.listener('telling a call for help', parts.onEmergency),
  })
  const attend = attention({
    ...common,
    ...conversations,
    noticeEmergency,
    via,
    shortNumbers: short,
    position,
    isOperator: (call) => services.some((service) => service.isFor?.(call) === true),
    onQuery: queries.answer,
    onHeard: conversations.stationHeard,
    bulletins,
  })
  const told = { mailbox: conversations.mail, notices, others }
  const contextFor = contextMaker(parts, options, offsetAt, where, told)
  const shared = { ...common, transmitter: ownTransmitter, noticeEmergency, ...others.sessions() }
  const connected = parts.connected?.(connectedParts(parts, shared, conversations, contextFor))
  return {
    attend,
    digipeater: parts.digipeater?.(digipeaterParts(parts, ownTransmitter, position)),
    ...{ connected, hills: others.hills, email: others.email },
    say: sayAs(parts, newNumber, conversations.outbox),
    transmitter: ownTransmitter,
    tally: own.tally,
    conversing: conversations,
    beacons: ownBeacons,
    queries,
  }
}

/** What the operator says as the station. */
const sayAs = (
  parts: NodeParts,
  newNumber: (call: string) => string,
  outbox: Outbox,
): ServiceNode['say'] =>
  operatorMessages({
    ...{ clock: parts.clock, store: parts.store, newNumber, outbox },
    radioFor: radioOf(parts),
    options: parts.options.answers,
  })

const connectedParts = (
  { nextId, ports, services, vocabulary, options }: NodeParts,
  common: Pick<
    ConnectedNeeds,
    | 'clock'
    | 'clockTrust'
    | 'store'
    | 'note'
    | 'transmitter'
    | 'quietUntil'
    | 'noticeEmergency'
    | 'sessionFor'
    | 'meterFor'
    | 'wording'
  >,
  { mail, outbox, storage }: Conversing,
  contextFor: ContextFor,
): ConnectedNeeds => ({
  ...{ ...common, nextId, ports, mail, outbox, storage, contextFor, nodeOptions: options },
  offer: { services, ...(vocabulary && { vocabulary }) },
})

const radioOf =
  ({ store, ports }: NodeParts) =>
  (call: string): number =>
    store.stations.find(call)?.radio ?? ports[0]?.radio ?? 0

/** What is sent without being asked. */
function begin(members: ReturnType<typeof assemble>): void {
  const { beacons, conversing, hills, connected, email } = members
  beacons.start()
  conversing.acting.start()
  conversing.watches.start()
  hills?.start(connected)
  email?.start()
}

/**
 * By a clock that nobody believes it may be any hour: silence by day, when people need it, is worse than an answer by night.
 * @returns the local time at which the quiet hours that hold now are over
 */
const quietNow =
  (
    options: NodeOptions,
    { clock, clockTrust }: Pick<WholeParts, 'clock' | 'clockTrust'>,
    offsetAt: () => OffsetAt,
  ) =>
  (): string | undefined =>
    options.quiet && clockTrust.trusted()
      ? quietUntil(options.quiet, clock.wallMs(), offsetAt()(clock.wallMs()))
      : undefined

const digipeaterParts = (
  { clock, random, store }: NodeParts,
  ownTransmitter: Transmitter,
  position: () => GeoPosition | undefined,
): Parameters<MakeDigipeater>[0] => ({
  ...{ clock, random, transmitter: ownTransmitter },
  distanceM(call) {
    const own = position()
    const station = store.stations.find(call)?.position
    return own && station && geodesicBetween(own, station).distanceM
  },
})

/** What a service is told of the asker and of the node. */
function contextMaker(
  { clock, clockTrust, store, wordings, event }: WholeParts,
  options: NodeOptions,
  offsetAt: () => OffsetAt,
  where: Whereabouts,
  {
    mailbox,
    notices,
    others,
  }: {
    readonly mailbox: Mail
    readonly notices: NoticesView
    readonly others: Pick<OtherNodes, 'hills' | 'email'>
  },
): ContextFor {
  return (from, services, written) => {
    const utcOffsetMinutesAt = offsetAt()
    const known = store.stations.find(from)?.position
    // a position from the future may be of any age
    const ageMs = known && wallAgeMs(known.atWallMs, clock.wallMs())
    return {
      askerPosition:
        known === undefined || ageMs === undefined
          ? undefined
          : { latitudeDeg: known.latitudeDeg, longitudeDeg: known.longitudeDeg, ageMs },
      node: {
        call: options.call,
        position: where.position,
        positionSource: where.positionSource,
        timeSource: where.timeSource,
        utcOffsetMinutes: utcOffsetMinutesAt(clock.wallMs()),
        utcOffsetMinutesAt,
        units: options.units,
        heightM: options.heightM,
      },
      clock,
      clockTrusted: clockTrust.trusted(),
      clockConfirmed: clockTrust.confirmed(),
      stations: others.hills?.stationsView(store.stations) ?? store.stations,
      mailbox,
      notices,
      email: others.email?.view,
      storage: written,
      effects: written,
      names: event?.names,
      language: options.language,
      wordings,
      rehearsal: false,
      services,
    }
  }
}

/** Those of one station together; what is wrong with them harms no other. */
function addMessages(store: Store, guard: Guard, outbox: Outbox): void {
  const open = store.reading('messages under way', [], () => store.messages.open())
  for (const [to, own] of byStation(open))
    guard.call(`messages under way to ${to}`, () => outbox.add(own))
}
