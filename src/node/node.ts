import type { HeardFrame } from '../radio/port.js'
import type { GeoPosition, NoticesView, Service, ServiceContext } from '../services/service.js'
import { attention } from './attention.js'
import { type BeaconKind, beaconKinds } from './beaconOptions.js'
import { beacons } from './beacons.js'
import { board } from './board.js'
import { conversations } from './conversation.js'
import { journal } from './journal.js'
import { type Mail, mail } from './mail.js'
import { messageNumber } from './messageNumber.js'
import { type ResolvedOptions, resolveOptions } from './options.js'
import { type Outbox, outbox } from './outbox.js'
import { queryAnswers } from './queryAnswers.js'
import { replyPath } from './replyPath.js'
import type { NodeParts, ServiceNode } from './serviceNode.js'
import { transmitter } from './transmitter.js'
import { viaTable } from './viaTable.js'

/** Where and when the node is, as far as it knows. */
interface Whereabouts {
  position: GeoPosition | undefined
  positionSource: string
  timeSource: string
}

/** Builds the node; it listens from `start` on. */
export function createNode(parts: NodeParts): ServiceNode {
  const options = resolveOptions(parts.options)
  const where: Whereabouts = {
    position: options.position,
    positionSource: options.position === undefined ? 'unknown' : 'config',
    timeSource: 'system',
  }
  let running = false
  let framesHeard = 0
  const members = assemble(parts, options, where, () => framesHeard)
  const { store } = parts

  const onFrame = (frame: HeardFrame): void => {
    if (!running) return
    framesHeard++
    members.attend(frame)
  }
  for (const port of parts.ports) port.onFrame(onFrame)

  return {
    start() {
      if (running) return
      running = true
      members.note('started', `node ${options.call}`)
      members.post.start()
      members.letters.add(store.reading('messages under way', [], () => store.messages.open()))
      members.talk.resume()
      members.lights.start()
    },
    stop() {
      running = false
      members.lights.stop()
      members.queries.stop()
      members.talk.stop()
      members.letters.stop()
      members.post.stop()
      store.flush()
    },
    state: () => ({
      call: options.call,
      position: where.position,
      openQuestionCount: members.talk.openCount,
      openMessageCount: members.letters.openCount,
      parkedMessageCount: members.letters.parkedCount,
      mailboxCount: store.reading('the mailbox', 0, () => store.mailbox.openCount),
      framesHeardCount: framesHeard,
    }),
    setPosition(position, source) {
      where.position = position
      where.positionSource = source
    },
    setTimeSource(source) {
      where.timeSource = source
    },
    beaconNow(kind) {
      if (beaconKinds.includes(kind as BeaconKind)) members.lights.send(kind as BeaconKind)
    },
  }
}

/** The node's members, each given what it needs of the others. */
function assemble(
  parts: NodeParts,
  options: ResolvedOptions,
  where: Whereabouts,
  framesHeard: () => number,
) {
  const { clock, store, ports, services, random } = parts
  const position = (): GeoPosition | undefined => where.position
  const note = journal(store, clock, parts.onEvent)
  const common = { clock, random, store, note, options }
  const via = viaTable()
  const shortNumbers = new Set<string>()
  const pathTo = (call: string): readonly string[] =>
    replyPath(via.find(call) ?? store.stations.find(call)?.via ?? [], options.answers)
  const newNumber = (call: string): string => {
    const short = shortNumbers.has(call)
    return messageNumber(store.count(short ? 'short number' : 'number'), short)
  }
  const air = transmitter({ ports, clock, store, nextId: parts.nextId, note, call: options.call })
  // Mail sends through the outbox, and the outbox tells mail what became of it.
  let letters: Outbox
  const post = mail({ ...common, newNumber, outbox: () => letters })
  letters = outbox({
    ...common,
    pathTo,
    transmitter: air,
    options: options.answers,
    onEnd: post.carrierEnded,
  })
  const notices = board({ ...common, options: options.notices })
  const talk = conversations({
    ...common,
    services,
    transmitter: air,
    outbox: letters,
    mail: post,
    contextFor: contextMaker(parts, options, where, post, notices),
    pathTo,
    newNumber,
  })
  const lights = beacons({
    ...common,
    ports,
    transmitter: air,
    services,
    notices,
    options: options.beacons,
    call: options.call,
    status: options.status,
    position,
    framesHeard,
  })
  const queries = queryAnswers({ ...common, outbox: letters, beacons: lights })
  const attend = attention({
    ...common,
    outbox: letters,
    mail: post,
    conversations: talk,
    via,
    shortNumbers,
    position,
    onQuery: queries.answer,
  })
  return { note, attend, post, letters, talk, lights, queries }
}

/** What a service is told of the asker and of the node. */
function contextMaker(
  { clock, store }: NodeParts,
  options: ResolvedOptions,
  where: Whereabouts,
  mailbox: Mail,
  notices: NoticesView,
): (from: string, services: readonly Service[]) => ServiceContext {
  return (from, services) => {
    const known = store.stations.find(from)?.position
    return {
      askerPosition: known && {
        latitudeDeg: known.latitudeDeg,
        longitudeDeg: known.longitudeDeg,
        ageMs: Math.max(0, clock.wallMs() - known.atWallMs),
      },
      node: {
        call: options.call,
        position: where.position,
        positionSource: where.positionSource,
        timeSource: where.timeSource,
        utcOffsetMinutes: options.utcOffsetMinutes,
        units: options.units,
        heightM: options.heightM,
      },
      clock,
      stations: store.stations,
      mailbox,
      notices,
      services,
    }
  }
}
