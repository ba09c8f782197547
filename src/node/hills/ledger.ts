import { wallAgeMs } from '../../runtime/clockTrust.js'
import type { HillRow } from '../../store/hills.js'
import { type Carried, carried, graceMs } from './carried.js'
import { type Endings, endings } from './endings.js'
import { entryLimits, isCarried, type Outcome } from './entry.js'
import { type Floods, floods } from './floods.js'
import { dayMs, type HillParts, minuteMs } from './hillParts.js'
import { withdrawalOf } from './ids.js'
import { type Knowledge, knowledge } from './knowledge.js'
import { type Life, life } from './life.js'
import { type Routes, routes } from './routes.js'

/** What all sessions of a node share: the database, what is known of others, the ways to them. */
export interface Ledger {
  readonly parts: HillParts
  readonly life: Life
  readonly carried: Carried
  readonly floods: Floods
  readonly endings: Endings
  readonly known: Knowledge
  readonly routes: Routes
  /** One transaction. @returns whether it is on the disk; what is to be told of it is told then */
  commit(doing: string, work: () => void): boolean
  /** The neighbour that a message for this station goes to; undefined where it stays. */
  nextFor(to: string, trace: readonly string[]): string | undefined
  /** Looks at what ended here, what has expired, what is new; to be called about once a minute. */
  look(): void
  /** Inside a transaction: a copy was put in the place of this database. */
  beginAnew(): void
  /** Ends an entry here, or has those that hold it end it. @returns in words what is done, undefined for an unknown id */
  withdraw(entryId: string): string | undefined
}

/** A station that was heard elsewhere is somewhere else only if that was so much later. */
const laterMs = 10 * minuteMs
/** What was heard before that says nothing of where a station is. */
const placeAgeMsMax = 3 * dayMs
const expiredAtOnce = 100
/** Of entries that ended, so many stay known: what comes again is not taken again. */
const endedKept = 20_000
export const keepMsMax = entryLimits.lifeMin * minuteMs

/** @param named what no other entry is named by: a random id */
export function ledger(parts: HillParts, named: () => string): Ledger {
  const { store, clock, clockTrust, options, note } = parts
  const known = knowledge(clock)
  const ways = routes(options.own)
  const ownLife = life(parts, named)
  const ends = endings(parts)
  const held = carried(parts)
  const flood = floods(parts, known, named)

  const commit: Ledger['commit'] = (doing, work) => {
    const done = store.durably(doing, () => {
      ownLife.step()
      work()
    })
    if (!done.ok) {
      ends.forget()
      return false
    }
    ownLife.settle()
    ends.flush()
    return true
  }

  const heardHereMs = (to: string): number | undefined => {
    const station = store.stations.find(to)
    return station && wallAgeMs(station.lastHeardWallMs, clock.wallMs())
  }

  const beginAnew = (): void => {
    const reason = 'its database is older than what it has lived: a back-up was put in its place'
    note('fault', 'entries between nodes', { reason })
    for (const row of store.hills.open()) {
      if (isCarried(row.kind)) ends.end(row, 'unknown')
      else store.hills.setState(row.entryId, 'here', row.peer)
    }
    // These may have been handed on, and delivered, since the copy was made.
    const mails = [...store.mailbox.waiting(), ...store.mailbox.sending()]
    for (const mail of mails.filter(({ answerTo }) => answerTo === undefined)) {
      ends.endMail(mail, 'unknown')
      ends.tellSender(mail, 'unknown')
    }
    for (const letter of parts.letters === undefined ? [] : store.letters.unread()) {
      store.letters.remove(letter.id)
      ends.tellSender({ ...letter, text: letter.subject }, 'unknown')
    }
    store.hills.forgetPeers()
    ownLife.beginAnew()
    const wallMs = clock.wallMs()
    store.notices.insert({
      ...{ questionId: `restored ${named()}`, from: options.own, text: restoredText },
      ...{ postedWallMs: wallMs, expiresWallMs: wallMs + parts.nodeOptions.notices.keepMs },
      expiryTrusted: clockTrust.trusted(),
    })
  }

  if (ownLife.isOlder) commit('a back-up that was put in the place', beginAnew)
  store.reading('what other nodes told', undefined, flood.recall)

  return {
    ...{ parts, life: ownLife, carried: held, floods: flood, endings: ends, known, routes: ways },
    ...{ commit, beginAnew },
    nextFor(to, trace) {
      const place = known.find(to)
      if (place === undefined || place.node === options.own) return undefined
      const elsewhereMs = wallAgeMs(place.heardWallMs, clock.wallMs())
      if (elsewhereMs === undefined || elsewhereMs > placeAgeMsMax) return undefined
      const hereMs = heardHereMs(to)
      if (hereMs !== undefined && hereMs < elsewhereMs + laterMs) return undefined
      return ways.next(place.node, trace, clock.monotonicMs())?.next
    },
    look() {
      lookAtEnded(parts, ends, commit)
      expire(parts, { ends, flood, commit })
      store.durably('entries for other nodes', flood.produce)
    },
    withdraw: (entryId) => withdraw({ parts, ends, flood, commit }, entryId),
  }
}

const restoredText = 'I went back to an older state. Left something lately? Leave it again'

type Commit = Ledger['commit']

/** What was delivered here, refused, or has expired, as mailbox and letters say. */
function lookAtEnded(parts: HillParts, ends: Endings, commit: Commit): void {
  const { store } = parts
  const ended = store.reading('what ended', [], () =>
    store.hills.open().flatMap((row): [HillRow, Outcome][] => {
      const outcome = row.state === 'here' ? outcomeHere(parts, row) : undefined
      return outcome === undefined ? [] : [[row, outcome]]
    }),
  )
  if (ended.length === 0) return
  commit('what became of entries', () => {
    for (const [row, outcome] of ended) {
      // Of what began here the mailbox has told its sender.
      if (row.kind === 'message' && row.trace === '') store.hills.end(row.entryId, outcome)
      else ends.end(row, outcome)
    }
  })
}

function outcomeHere({ store }: HillParts, row: HillRow): Outcome | undefined {
  if (!isCarried(row.kind) || row.local === undefined) return undefined
  if (row.kind === 'letter') {
    const letter = store.letters.find(Number(row.local))
    if (letter === undefined) return 'refused'
    return letter.readWallMs === undefined ? undefined : 'delivered'
  }
  const mail = store.mailbox.findByQuestion(row.local)
  if (mail === undefined) return 'expired'
  const { state } = mail
  return state === 'delivered' ||
    state === 'refused' ||
    state === 'expired' ||
    state === 'withdrawn'
    ? state
    : undefined
}

/** Ends what is past its time, while the clock is trusted; what came before that gets its time first. */
function expire(
  parts: HillParts,
  { ends, flood, commit }: { ends: Endings; flood: Floods; commit: Commit },
): void {
  const { store, clock, clockTrust } = parts
  if (!clockTrust.trusted()) return
  const wallMs = clock.wallMs()
  if (store.reading('entries', 0, () => store.hills.untrustedCount) > 0)
    store.durably('when entries expire', () =>
      store.hills.trustExpiry(wallMs + parts.nodeOptions.mailbox.keepMs, expiredAtOnce),
    )
  capWhenSetBack(parts)
  const old = store.reading('entries', [], () => store.hills.expired(wallMs, expiredAtOnce))
  const due = old.filter(({ kind, state }) => kind !== 'message' || state !== 'here')
  if (due.length === 0) return
  commit('entries past their time', () => {
    for (const row of due) {
      const outcome = row.state === 'here' ? 'expired' : 'unknown'
      if (!isCarried(row.kind)) {
        store.hills.end(row.entryId, outcome)
        flood.remove(row)
      }
      // What is with another node and came by here, too: the node where it began may have lost it with its database.
      else ends.end(row, outcome)
    }
    store.hills.prune(endedKept)
  })
}

/** What got its time while the clock was years ahead would otherwise wait for years, and nobody be told. */
function capWhenSetBack({ store, clock, clockTrust, nodeOptions }: HillParts): void {
  const { count } = clockTrust.steps
  if (cappedAt.get(clockTrust) === count) return
  const wallMs = clock.wallMs()
  const done = store.durably('times that lie too far ahead', () => {
    store.hills.capExpiry(wallMs + nodeOptions.mailbox.keepMs + graceMs)
    store.mailbox.capExpiry(wallMs + nodeOptions.mailbox.keepMs)
  })
  if (done.ok) cappedAt.set(clockTrust, count)
}

/** How often a clock had been set when that was looked at last; once after a start. */
const cappedAt = new WeakMap<object, number>()

export const notWithdrawn = 'not withdrawn: the database does not take it'

function withdraw(
  at: { parts: HillParts; ends: Endings; flood: Floods; commit: Commit },
  entryId: string,
): string | undefined {
  const { parts, commit } = at
  const { store, clock, options } = parts
  const row = store.reading('an entry', undefined, () => store.hills.find(entryId))
  if (row === undefined) return undefined
  const isHere = row.state === 'here'
  const wallMs = clock.wallMs()
  const done = commit('withdrawing an entry', () => {
    if (isHere) endWithdrawn(at, row)
    if (isHere && isCarried(row.kind) && row.trace === '') return
    store.hills.insert({
      entryId: withdrawalOf(options.own, entryId),
      ...{ kind: 'withdrawal', from: options.own, to: '*', subject: '', text: entryId },
      ...{ writtenWallMs: wallMs, expiresWallMs: wallMs + keepMsMax / 2 },
      ...{ expiryTrusted: parts.clockTrust.trusted(), trace: '', cameFrom: undefined },
      ...{ state: 'here', peer: undefined, outcome: undefined, local: undefined },
    })
  })
  if (!done) return notWithdrawn
  if (row.state === 'ended')
    return `had ended here (${row.outcome}); the other nodes are told to end it`
  return isHere
    ? 'withdrawn here; the other nodes are told'
    : `is with ${row.peer}, which is told to end it`
}

/** Inside a transaction. */
export function endWithdrawn(
  { parts, ends, flood }: { parts: HillParts; ends: Endings; flood: Floods },
  row: HillRow,
): void {
  if (isCarried(row.kind)) ends.end(row, 'withdrawn')
  else {
    flood.remove(row)
    parts.store.hills.end(row.entryId, 'withdrawn')
  }
}
