import type { HillRow } from '../../store/hills.js'
import type { AnnouncedKind } from './announcement.js'
import { graceMs, traceOf } from './carried.js'
import { parseReport } from './endings.js'
import {
  type Entry,
  type EntryKind,
  entryLimits,
  isCarried,
  isNodeCall,
  type Outcome,
  octetsOf,
} from './entry.js'
import type { Book, Judgement, Meeting, Offer } from './exchange.js'
import { maySend } from './floods.js'
import { dayMs, minuteMs, type NeighbourOptions } from './hillParts.js'
import { withdrawalOf } from './ids.js'
import { endWithdrawn, keepMsMax, type Ledger } from './ledger.js'
import { hopsMax } from './routes.js'

/** What the peer did not take is offered again so long after. */
const againMs = 60 * minuteMs
const neverAgainMs = dayMs
const refusalsMax = 500
/** A count that is so far ahead is none. */
const countAheadMax = 1_000_000

/** What was refused, by peer and id, with the time from which it is offered again. In memory: it is no loss. */
export type Refusals = Map<string, number>

/** The database as an exchange with one neighbour sees it. */
export const bookFor = (ledger: Ledger, neighbour: NeighbourOptions, refusals: Refusals): Book =>
  new PeerBook(ledger, neighbour, refusals)

class PeerBook implements Book {
  private readonly peer: string
  private readonly store
  private countBefore = 0

  constructor(
    private readonly ledger: Ledger,
    private readonly neighbour: NeighbourOptions,
    private readonly refusals: Refusals,
  ) {
    this.peer = neighbour.call
    this.store = ledger.parts.store
  }

  meeting(): Meeting {
    const row = this.row()
    const { epoch } = this.ledger.life
    return { epoch, count: row?.count ?? 0, confirmed: row?.confirmed ?? 0 }
  }

  meet(count: number): boolean {
    const { count: known, confirmed } = this.meeting()
    if (count > known + countAheadMax) return false
    this.countBefore = known
    const epoch = this.row()?.epoch ?? ''
    return this.ledger.commit('a session with another node', () =>
      this.store.hills.setPeer({ call: this.peer, epoch, count, confirmed }),
    )
  }

  confirm(count: number, told: Meeting): boolean {
    const { commit, beginAnew } = this.ledger
    const known = this.row()
    if (known === undefined) return false
    if (this.countBefore > 0 && told.confirmed > this.countBefore) {
      commit('a back-up that was put in the place', beginAnew)
      return false
    }
    const isOlder =
      known.epoch !== '' && (told.epoch !== known.epoch || told.count < known.confirmed)
    return commit('a session with another node', () => {
      if (isOlder) forgetPeer(this.ledger, this.peer)
      this.store.hills.setPeer({ call: this.peer, epoch: told.epoch, count, confirmed: count })
    })
  }

  offers(octetsMax: number): readonly Offer[] {
    const all = this.store.reading('entries', [], () =>
      [...this.openRows(), ...this.carriedOffers()].sort((a, b) => rank(a.kind) - rank(b.kind)),
    )
    let octets = 0
    return all.filter((offer, index) => {
      octets += offer.octets + overheadOctets
      return index === 0 || octets <= octetsMax
    })
  }

  judge(offer: Offer): Judgement {
    return judge(this.ledger, this.neighbour, offer)
  }

  begin(id: string): Entry | undefined {
    const { commit, carried } = this.ledger
    let row: HillRow | undefined
    const done = commit('handing an entry on', () => {
      row = this.store.hills.find(id)
      if (row === undefined || (isCarried(row.kind) && row.state === 'here'))
        row = carried.take(id, this.peer)
    })
    if (!done || row === undefined || row.state === 'ended') return undefined
    return isCarried(row.kind) && row.state !== 'handing' ? undefined : entryOf(this.ledger, row)
  }

  kept(id: string): boolean {
    const { commit, carried } = this.ledger
    const { hills } = this.store
    return commit('what another node keeps', () => {
      const row = hills.find(id) ?? carried.take(id, this.peer)
      if (row === undefined || row.state === 'ended') return
      if (row.kind === 'report') hills.end(id, 'delivered')
      else if (!isCarried(row.kind)) hills.noteHas(id, this.peer)
      else if (row.state === 'handing' || carried.take(id, this.peer) !== undefined)
        hills.setState(id, 'handed', this.peer)
    })
  }

  ended(id: string, outcome: Outcome): boolean {
    const { commit, carried, endings } = this.ledger
    const { hills } = this.store
    return commit('what has ended elsewhere', () => {
      const row = hills.find(id) ?? carried.take(id, this.peer)
      if (row === undefined || row.state === 'ended') return
      if (isCarried(row.kind)) endings.end(row, outcome)
      else if (row.kind === 'report') hills.end(id, outcome)
      else hills.noteHas(id, this.peer)
    })
  }

  refused(id: string, reason: string): boolean {
    const { commit, carried, endings, parts } = this.ledger
    const { hills } = this.store
    const isForNow = reason === 'full' || reason === 'disk'
    if (this.refusals.size >= refusalsMax) this.refusals.clear()
    const againAtMs = parts.clock.monotonicMs() + (isForNow ? againMs : neverAgainMs)
    this.refusals.set(`${this.peer} ${id}`, againAtMs)
    parts.note('rejected', 'an entry for another node', {
      ...{ station: this.peer, reference: id, reason },
    })
    return commit('what another node does not take', () => {
      const row = hills.find(id)
      if (row === undefined || row.state === 'ended') return
      if (isCarried(row.kind)) {
        if (row.state !== 'handing') return
        carried.putBack(row)
        // Its sender took it back meanwhile.
        if (hills.find(withdrawalOf(parts.options.own, id)) !== undefined)
          endings.end(hills.find(id)!, 'withdrawn')
      } else if (isForNow) return
      else if (row.kind === 'report') hills.end(id, 'refused')
      else hills.noteHas(id, this.peer)
    })
  }

  keep(entry: Entry): 'kept' | { readonly reason: string } | undefined {
    return keep(this.ledger, this.neighbour, entry)
  }

  private row() {
    return this.store.reading('a neighbour', undefined, () => this.store.hills.peer(this.peer))
  }

  private isDue(id: string): boolean {
    const fromMs = this.refusals.get(`${this.peer} ${id}`)
    return fromMs === undefined || this.ledger.parts.clock.monotonicMs() >= fromMs
  }

  private mayGo(kind: string, trace: readonly string[], from: string): boolean {
    if (!isTrusted(kind, this.neighbour.gives)) return false
    if (trace.length >= hopsMax || trace.includes(this.peer)) return false
    return kind === 'report' || kind === 'withdrawal' || maySend(this.ledger.parts, from)
  }

  private openRows(): Offer[] {
    return this.store.hills.open().flatMap((row) => {
      const isFlood = !isCarried(row.kind) && row.kind !== 'report'
      const goes = isFlood
        ? row.state === 'here' && !this.store.hills.has(row.entryId, this.peer)
        : row.peer === this.peer && row.state === (row.kind === 'report' ? 'here' : 'handing')
      if (!goes || !this.mayGo(row.kind, traceOf(row), row.from)) return []
      return this.isDue(row.entryId) ? [offerOf(row)] : []
    })
  }

  private carriedOffers(): Offer[] {
    return this.ledger.carried
      .waiting()
      .filter(({ kind, trace, from, id }) => this.mayGo(kind, trace, from) && this.isDue(id))
      .filter(({ to, trace }) => this.ledger.nextFor(to, trace) === this.peer)
      .map(({ id, kind, octets, to }) => ({ id, kind, octets, to }))
  }
}

/** Lines of an offer, of an entry, and of what answers them. */
const overheadOctets = 160

/** First what others wait for, then what is for one person, then what is for all. */
const rank = (kind: EntryKind): number =>
  ({
    report: 0,
    withdrawal: 0,
    message: 1,
    letter: 2,
    notice: 3,
    directory: 4,
    weather: 5,
    stations: 6,
  })[kind]

const offerOf = (row: HillRow): Offer => ({
  ...{ id: row.entryId, kind: row.kind as EntryKind, octets: octetsOf(row.text), to: row.to },
})

const isTrusted = (kind: string, kinds: readonly AnnouncedKind[]): boolean =>
  kind === 'report' || kind === 'withdrawal' || kinds.some((one) => one === kind)

/** Minutes from a row's stamp to now, or from now to it, within what a line may say. */
const minutes = (ms: number, max: number): number =>
  Math.min(max, Math.max(0, Math.round(ms / minuteMs)))

function entryOf({ parts }: Ledger, row: HillRow): Entry {
  const { clock, clockTrust, options, nodeOptions } = parts
  const wallMs = clock.wallMs()
  const isTimed = row.expiryTrusted && clockTrust.trusted()
  const away = isCarried(row.kind) ? graceMs : 0
  const lifeMs = isTimed ? row.expiresWallMs - away - wallMs : nodeOptions.mailbox.keepMs
  return {
    ...{ id: row.entryId, kind: row.kind as EntryKind, from: row.from, to: row.to },
    ...{ subject: row.subject, text: row.text },
    ageMin: minutes(wallMs - row.writtenWallMs, entryLimits.ageMin),
    lifeMin: minutes(lifeMs, entryLimits.lifeMin),
    trace: [...traceOf(row), options.own],
  }
}

/** Its database is an older one: what it had taken may be lost there, or delivered, and nobody knows. */
function forgetPeer({ parts, endings }: Ledger, peer: string): void {
  const { store, note } = parts
  const reason = 'its database is another one, or an older one'
  note('fault', 'entries that it had taken', { station: peer, reason })
  for (const row of store.hills.openTo(peer)) if (isCarried(row.kind)) endings.end(row, 'unknown')
  store.hills.forgetHas(peer)
}

function judge(ledger: Ledger, neighbour: NeighbourOptions, offer: Offer): Judgement {
  const { parts, carried } = ledger
  const { store } = parts
  const { id, kind, octets, to } = offer
  if (store.degraded) return { type: 'refuse', reason: 'disk' }
  const found = store.reading('an entry', undefined, () => ({ row: store.hills.find(id) }))
  if (found === undefined) return { type: 'refuse', reason: 'disk' }
  const { row: known } = found
  if (known !== undefined) {
    if (!isCarried(kind) || known.state !== 'ended') return { type: 'have' }
    return { type: 'ended', outcome: known.outcome as Outcome }
  }
  if (!isTrusted(kind, neighbour.takes)) return { type: 'refuse', reason: 'kind' }
  if (octets > entryLimits.textOctets[kind]) return { type: 'refuse', reason: 'size' }
  if (!isCarried(kind)) return { type: 'want' }
  const text = ''
  const reason = store.reading('an entry', 'disk', () =>
    carried.refusalOf({ id, kind, to, from: 'N0NE', text }),
  )
  return reason === undefined ? { type: 'want' } : { type: 'refuse', reason }
}

function keep(
  ledger: Ledger,
  neighbour: NeighbourOptions,
  entry: Entry,
): 'kept' | { readonly reason: string } | undefined {
  const { parts, carried, floods, routes, commit } = ledger
  const { store, clock, clockTrust, options } = parts
  const { id, kind, from, to, trace } = entry
  if (trace.includes(options.own)) return { reason: 'loop' }
  // No table keeps a sender that no frame can name: the entry would be confirmed, and be gone.
  const isOfSender = kind !== 'report' && kind !== 'withdrawal'
  if (isOfSender && !(isNodeCall(from) && maySend(parts, from))) return { reason: 'sender' }
  const refuse = (): string | undefined => {
    if (kind === 'report') return undefined
    return isCarried(kind) ? carried.refusalOf(entry) : floods.refusalOf(entry)
  }
  const reason = store.reading('an entry', 'disk', refuse)
  if (reason !== undefined) return { reason }
  if (kind === 'report') return keepReport(ledger, neighbour.call, entry)
  const wallMs = clock.wallMs()
  const writtenWallMs = Math.max(0, wallMs - entry.ageMin * minuteMs)
  const expiresWallMs = wallMs + Math.min(keepMsMax, entry.lifeMin * minuteMs)
  const done = commit('an entry of another node', () => {
    const local = isCarried(kind)
      ? carried.land(entry, expiresWallMs)
      : floods.land(entry, writtenWallMs, expiresWallMs)
    store.hills.insert({
      ...{ entryId: id, kind, from, to, subject: entry.subject, text: entry.text },
      ...{ writtenWallMs, expiresWallMs, expiryTrusted: clockTrust.trusted() },
      ...{ trace: trace.join(','), cameFrom: neighbour.call, state: 'here', peer: undefined },
      ...{ outcome: undefined, local },
    })
    if (kind === 'withdrawal') withdrawn(ledger, neighbour.call, entry.text)
    else store.hills.noteHas(id, neighbour.call)
  })
  if (!done) return undefined
  routes.learn(trace, clock.monotonicMs())
  if (isCarried(kind)) {
    parts.note('left', `for ${to}: ${entry.subject || entry.text}`, {
      station: from,
      reference: id,
    })
    parts.tellSoon(to)
  }
  return 'kept'
}

/** Inside a transaction: ends it where it lies here, and keeps it from being taken later. */
function withdrawn(ledger: Ledger, peer: string, subject: string): void {
  const { parts, endings: ends, floods: flood } = ledger
  const { store, clock } = parts
  const row = store.hills.find(subject)
  if (row?.state === 'here') {
    // Only a node that has it, too, may take it away.
    if (row.cameFrom === peer || store.hills.has(subject, peer))
      endWithdrawn({ parts, ends, flood }, row)
    return
  }
  if (row !== undefined) return
  const wallMs = clock.wallMs()
  store.hills.insert({
    ...{ entryId: subject, kind: 'message', from: peer, to: '*', subject: '', text: '' },
    ...{ writtenWallMs: wallMs, expiresWallMs: wallMs, expiryTrusted: true, trace: '' },
    ...{ cameFrom: peer, state: 'ended', peer: undefined, outcome: 'withdrawn', local: undefined },
  })
}

/** What became of an entry that went by here, or began here. */
function keepReport(
  { parts, endings, commit }: Ledger,
  peer: string,
  entry: Entry,
): 'kept' | { readonly reason: string } | undefined {
  const { store, clock, clockTrust, options } = parts
  const report = parseReport(entry.text)
  const place = report?.path.indexOf(options.own) ?? -1
  if (report === undefined || place < 0) return { reason: 'text' }
  const { subject, outcome, path, to, text } = report
  const row = store.reading('an entry', undefined, () => store.hills.find(subject))
  const isOurs = row !== undefined && row.state !== 'here' && row.peer !== undefined
  if (row !== undefined && row.state !== 'ended' && !(isOurs && row.peer === peer))
    return { reason: 'peer' }
  const wallMs = clock.wallMs()
  const done = commit('what became of an entry', () => {
    // That nobody knows is told once; what became of it after all is told, too.
    const isKnown = row?.state === 'ended' && (row.outcome !== 'unknown' || outcome === 'unknown')
    if (place === 0 && !isKnown) {
      endings.tellSender({ from: entry.to, to, text }, outcome)
      parts.note(outcome === 'delivered' ? 'delivered' : 'given up', `from ${entry.to}: ${text}`, {
        ...{ station: to, reference: subject, reason: `says ${entry.from}` },
      })
    }
    if (row !== undefined && !isKnown) {
      const { kind, local } = row
      const mail = kind === 'message' && local ? store.mailbox.findByQuestion(local) : undefined
      if (mail !== undefined) endings.endMail(mail, outcome)
      store.hills.end(subject, outcome)
    }
    store.hills.insert({
      ...{ entryId: entry.id, kind: 'report', from: entry.from, to: entry.to, subject: '' },
      ...{ text: entry.text, writtenWallMs: wallMs, trace: entry.trace.join(',') },
      ...{ expiresWallMs: wallMs + Math.min(keepMsMax, entry.lifeMin * minuteMs) },
      ...{ expiryTrusted: clockTrust.trusted(), cameFrom: peer, local: undefined },
      ...{ state: place === 0 ? 'ended' : 'here', peer: path[place - 1] },
      outcome: place === 0 ? 'delivered' : undefined,
    })
  })
  return done ? 'kept' : undefined
}
