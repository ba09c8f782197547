import { describePayload } from '../aprs/describe.js'
import { positionOf, weatherOf } from '../aprs/parse.js'
import type { HeardFrame } from '../radio/port.js'
import type { Cancel } from '../runtime/clock.js'
import type { GeoPosition, Service, ServiceContext } from '../services/service.js'
import { addresseeOf, callIsListed } from './addressing.js'
import { type BeaconKind, beaconKinds } from './beaconOptions.js'
import { beacons } from './beacons.js'
import { board } from './board.js'
import { conversations } from './conversation.js'
import { copies } from './copies.js'
import { copyKey, type Heard, readHeard } from './intake.js'
import { journal } from './journal.js'
import { mail } from './mail.js'
import { messageNumber } from './messageNumber.js'
import { resolveOptions } from './options.js'
import { type Outbox, outbox } from './outbox.js'
import { directedReply, generalReply, type QueryReply } from './queries.js'
import { rateLimit } from './rateLimit.js'
import { replyPath } from './replyPath.js'
import type { NodeParts, ServiceNode } from './serviceNode.js'
import { transmitter } from './transmitter.js'

/** The node never acts on a frame that needed more repair than this. */
const repairedBitsMax = 1
/** Digipeaters hold a copy for about 28 s (APRS reference, chapter 2). */
const copyWindowMs = 28_000
/** Stations wait a random time before they answer a query to everybody, or they would all answer at once. */
const generalReplyWaitMs = { least: 5_000, more: 55_000 }
const generalRepliesMax = 2

/** Builds the node; it listens from `start` on. */
export function createNode(parts: NodeParts): ServiceNode {
  const { clock, store, ports, services, random } = parts
  const options = resolveOptions(parts.options)
  const note = journal(store, clock, parts.onEvent)
  const via = viaTable()
  const shortNumbers = new Set<string>()
  const seen = copies(copyWindowMs)
  const generalReplies = rateLimit(options.limits.windowMs)
  const cancels = new Set<Cancel>()
  let running = false
  let framesHeard = 0
  let position = options.position
  let positionSource = position === undefined ? 'unknown' : 'config'
  let timeSource = 'system'

  const air = transmitter({ ports, clock, store, nextId: parts.nextId, note, call: options.call })
  const pathTo = (call: string): readonly string[] =>
    replyPath(via.find(call) ?? store.stations.find(call)?.via ?? [], options.answers)
  const newNumber = (call: string): string => {
    const short = shortNumbers.has(call)
    return messageNumber(store.count(short ? 'short number' : 'number'), short)
  }
  let letters: Outbox
  const post = mail({ clock, store, note, options, newNumber, outbox: () => letters })
  letters = outbox({
    clock,
    random,
    store,
    note,
    pathTo,
    transmitter: air,
    options: options.answers,
    onEnd: post.carrierEnded,
  })
  const notices = board({ clock, store, note, options: options.notices })

  const contextFor = (from: string, offered: readonly Service[]): ServiceContext => {
    const known = store.stations.find(from)?.position
    return {
      askerPosition: known && {
        latitudeDeg: known.latitudeDeg,
        longitudeDeg: known.longitudeDeg,
        ageMs: Math.max(0, clock.wallMs() - known.atWallMs),
      },
      node: {
        call: options.call,
        position,
        positionSource,
        timeSource,
        utcOffsetMinutes: options.utcOffsetMinutes,
        units: options.units,
        heightM: options.heightM,
      },
      clock,
      stations: store.stations,
      mailbox: post,
      notices,
      services: offered,
    }
  }
  const talk = conversations({
    clock,
    store,
    note,
    options,
    services,
    transmitter: air,
    outbox: letters,
    mail: post,
    contextFor,
    pathTo,
    newNumber,
  })
  const lights = beacons({
    clock,
    random,
    store,
    note,
    ports,
    transmitter: air,
    services,
    notices,
    options: options.beacons,
    call: options.call,
    status: options.status,
    position: () => position,
    framesHeard: () => framesHeard,
  })

  const onFrame = (frame: HeardFrame): void => {
    if (!running) return
    framesHeard++
    const intake = readHeard(frame)
    const { radio, repairedBits } = frame
    store.frames.add({
      heardAtWallMs: frame.heardAtWallMs,
      radio,
      source: intake.ok ? intake.heard.source : (intake.source ?? ''),
      octets: frame.octets,
      repairedBits,
      detector: frame.detector,
      quality: frame.quality,
    })
    if (!intake.ok) {
      note('ignored', `${frame.octets.length} octets`, {
        radio,
        station: intake.source,
        reason: intake.reason,
      })
      return
    }
    const { heard } = intake
    const detail = { radio, station: heard.source }
    const text = describePayload(heard.payload)
    if (repairedBits > 0) {
      const bits = `${repairedBits} bit${repairedBits === 1 ? '' : 's'}`
      const after = repairedBits > repairedBitsMax ? ': kept, not acted on' : ''
      note('repaired', text, { ...detail, reason: `repaired by ${bits}${after}` })
      if (repairedBits > repairedBitsMax) return
    }
    if (heard.source === options.call || heard.from === options.call) {
      note('ignored', text, { ...detail, reason: 'our own frame' })
      return
    }
    const copy = seen.note(copyKey(heard), heard.via.join(), clock.monotonicMs())
    addStation(heard)
    const reason = act(heard, copy !== undefined)
    note('heard', text, { ...detail, reason })
    letters.stationHeard(heard.source)
    if (options.answering) post.stationHeard(heard.source, radio)
  }

  const addStation = (heard: Heard): void => {
    const { frame, payload, thirdParty } = heard
    const place = thirdParty ? undefined : positionOf(payload)
    store.stations.add({
      call: heard.source,
      atWallMs: frame.heardAtWallMs,
      radio: frame.radio,
      via: heard.via,
      quality: frame.quality,
      position: place,
      symbol: symbolOf(heard),
      weather: thirdParty ? undefined : weatherOf(payload),
      status: payload.kind === 'status' && !thirdParty ? payload.text : undefined,
    })
  }

  /** @returns why nothing was done with it, for the log */
  const act = (heard: Heard, isCopy: boolean): string | undefined => {
    const { payload, from } = heard
    if (!('addressee' in payload) && payload.kind !== 'query') return 'nothing asked'
    if (payload.kind === 'bulletin') return 'a bulletin is never answered'
    if (payload.kind === 'telemetryDefinition') return 'nothing asked'
    if (!options.answering) return 'answering is switched off'
    if (callIsListed(from, options.ignored)) return 'on the list of stations not to answer'
    if (payload.kind === 'query') return actOnQuery(heard, generalReply(payload, position), isCopy)
    const to = addresseeOf(payload.addressee, options)
    if (to.kind === 'group') return 'a message to everybody is never answered'
    if (to.kind === 'other') return 'not addressed to us'
    switch (payload.kind) {
      case 'acknowledgement':
        return letters.acknowledged(from, payload.number, 'by its receiver')
          ? undefined
          : 'no message of ours has this number'
      case 'rejection':
        return letters.rejected(from, payload.number)
          ? undefined
          : 'no message of ours has this number'
      case 'directedQuery': {
        const { call } = options
        const own = { call, stations: store.stations, wallMs: clock.wallMs() }
        return actOnQuery(heard, [directedReply(payload, heard, own)], isCopy)
      }
      case 'message': {
        via.note(heard, clock.monotonicMs())
        if (payload.replyAcknowledges) {
          letters.acknowledged(from, payload.replyAcknowledges, 'by a message in return')
        }
        if (payload.replyAcknowledges === undefined) shortNumbers.delete(from)
        else shortNumbers.add(from)
        talk.take(heard, payload, to)
        return undefined
      }
    }
  }

  const actOnQuery = (
    heard: Heard,
    replies: readonly QueryReply[],
    isCopy: boolean,
  ): string | undefined => {
    if (isCopy) return 'heard again within 28 s'
    via.note(heard, clock.monotonicMs())
    const general = heard.payload.kind === 'query'
    const who = general ? '' : heard.from
    const most = general ? generalRepliesMax : options.limits.perStation
    if (generalReplies.note(who, clock.monotonicMs()) > most) return 'rate limit of queries'
    let reason: string | undefined
    for (const reply of replies) {
      if (reply.kind === 'none') reason = reply.reason
      else if (!general) carryOut(reply, heard)
      else later(generalReplyWaitMs, () => carryOut(reply, heard))
    }
    return reason
  }

  const later = (wait: { least: number; more: number }, run: () => void): void => {
    const atMs = clock.monotonicMs() + wait.least + wait.more * random()
    const cancel = clock.at(atMs, () => {
      cancels.delete(cancel)
      run()
    })
    cancels.add(cancel)
  }

  const carryOut = (reply: QueryReply, heard: Heard): void => {
    const { from, frame } = heard
    if (reply.kind === 'beacon') lights.send(reply.beacon)
    if (reply.kind === 'resend' && letters.resend(from) === 0) {
      carryOut({ kind: 'message', text: 'No messages for you' }, heard)
    }
    if (reply.kind !== 'message') return
    const wallMs = clock.wallMs()
    const kept = store.durably('a reply to a query', () =>
      store.messages.insert({
        kind: 'reply',
        to: from,
        number: undefined,
        replyTo: undefined,
        text: reply.text,
        questionId: undefined,
        mailboxId: undefined,
        radio: frame.radio,
        state: 'waiting',
        createdWallMs: wallMs,
        notAfterWallMs: wallMs + options.answers.notAfterMs,
      }),
    )
    if (kept.ok) letters.add([kept.value])
  }

  for (const port of ports) port.onFrame(onFrame)

  return {
    start() {
      if (running) return
      running = true
      note('started', `node ${options.call}`)
      post.start()
      const open = store.reading('messages under way', [], () => store.messages.open())
      letters.add(open)
      talk.resume()
      lights.start()
    },
    stop() {
      running = false
      for (const cancel of cancels) cancel()
      lights.stop()
      talk.stop()
      letters.stop()
      post.stop()
      store.flush()
    },
    state: () => ({
      call: options.call,
      position,
      openQuestionCount: talk.openCount,
      openMessageCount: letters.openCount,
      parkedMessageCount: letters.parkedCount,
      mailboxCount: store.reading('the mailbox', 0, () => store.mailbox.openCount),
      framesHeardCount: framesHeard,
    }),
    setPosition(newPosition: GeoPosition, source: string) {
      position = newPosition
      positionSource = source
    },
    setTimeSource(source) {
      timeSource = source
    },
    beaconNow(kind: string) {
      if (beaconKinds.includes(kind as BeaconKind)) lights.send(kind as BeaconKind)
    },
  }
}

/** How each station's messages came lately: of copies within a short time, the one with the fewest digipeaters. */
function viaTable(): {
  note(heard: Heard, nowMs: number): void
  find(call: string): readonly string[] | undefined
} {
  const stationsMax = 2_000
  const byCall = new Map<string, { via: readonly string[]; atMs: number }>()
  return {
    note({ from, via }, nowMs) {
      const known = byCall.get(from)
      if (known && nowMs - known.atMs < copyWindowMs && known.via.length < via.length) return
      byCall.delete(from)
      byCall.set(from, { via, atMs: nowMs })
      if (byCall.size > stationsMax) byCall.delete(byCall.keys().next().value as string)
    },
    find: (call) => byCall.get(call)?.via,
  }
}

function symbolOf({ payload, thirdParty }: Heard): string | undefined {
  if (thirdParty || (payload.kind !== 'position' && payload.kind !== 'micE')) return undefined
  return payload.position.symbol.table + payload.position.symbol.code
}
