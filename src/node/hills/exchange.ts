import { type Entry, type EntryKind, entryFault, type Outcome, octetsOf } from './entry.js'
import { formatLine, type Line, parseLine, textLines } from './lines.js'
import { openedLine, type SealContext, sealedLine } from './seal.js'

/** What an entry is offered by. */
export interface Offer {
  readonly id: string
  readonly kind: EntryKind
  readonly octets: number
  readonly to: string
}

/** How far the two ends' databases have come with each other. */
export interface Meeting {
  readonly epoch: string
  readonly count: number
  readonly confirmed: number
}

export type Judgement =
  | { readonly type: 'want' | 'have' }
  | { readonly type: 'ended'; readonly outcome: Outcome }
  | { readonly type: 'refuse'; readonly reason: string }

/**
 * What an exchange needs of the database, for one peer. What returns true is on the disk by then; false ends the session, and
 * nothing of it happened.
 */
export interface Book {
  /** where we stand with it */
  meeting(): Meeting
  /** Keeps the number of this session. */
  meet(count: number): boolean
  /** It has kept the number, too; what it said of itself is proven now. */
  confirm(count: number, peer: Meeting): boolean
  /** What is to go to it, the most urgent first. @param octetsMax of text, in all; the first may be longer */
  offers(octetsMax: number): readonly Offer[]
  judge(offer: Offer): Judgement
  /** Notes that it is under way to the peer, before the first of its lines. @returns undefined where it is not to go any more */
  begin(id: string): Entry | undefined
  /** It is on the peer's disk. */
  kept(id: string): boolean
  /** It has ended, says the peer. */
  ended(id: string, outcome: Outcome): boolean
  /** The peer does not take it, and has nothing of it. */
  refused(id: string, reason: string): boolean
  /** @returns 'kept', or why it is not taken; undefined when the database does not take it */
  keep(entry: Entry): 'kept' | { readonly reason: string } | undefined
}

export interface ExchangeParts {
  readonly own: string
  readonly peer: string
  /** 16 letters and digits a to z, 2 to 7, of this session alone */
  readonly nonce: string
  readonly secret: string | undefined
  readonly book: Book
  /** octets of text that may be handed over in this turn; 0 for none */
  readonly roomOctets: () => number
}

/** What comes of a line. */
export interface Step {
  /** to be sent, each without its CR */
  readonly lines: readonly string[]
  /** 'complete', or why the session is over; undefined while it goes on */
  readonly over?: string | undefined
}

/** One end of a session: lines in, lines out; it knows no clock and no radio. */
export interface Exchange {
  begin(): Step
  take(line: string): Step
  /** entries that the other has on its disk since, and that we have */
  readonly moved: { readonly given: number; readonly taken: number }
}

const offersMax = 16
/** Nobody has more to tell in one session. */
const turnsMax = 200

type Phase = 'greeting' | 'agreeing' | 'idle' | 'asking' | 'giving' | 'judging' | 'taking' | 'over'

/** An entry whose lines are coming. */
interface Coming {
  readonly head: Extract<Line, { type: 'entry' }>
  readonly octetsMax: number
  subject: string | undefined
  text: string | undefined
  octets: number
}

export function exchange(parts: ExchangeParts): Exchange {
  return new Running(parts)
}

class Running implements Exchange {
  private phase: Phase = 'greeting'
  private out: string[] = []
  private over: string | undefined
  private sentCount = 0
  private takenCount = 0
  private turns = 0
  private peerNonce = ''
  private meeting: Meeting | undefined
  private count = 0
  /** offered by us, in the order in which they are answered */
  private asked: Offer[] = []
  /** sent, and not kept or refused yet */
  private readonly open = new Set<string>()
  private wanted: string[] = []
  private judged: Offer[] = []
  private readonly coming = new Map<string, Offer>()
  private entry: Coming | undefined
  private replies: Line[] = []
  readonly moved = { given: 0, taken: 0 }

  constructor(private readonly parts: ExchangeParts) {}

  begin(): Step {
    const { own, nonce, book } = this.parts
    this.send({ type: 'hill', call: own, ...book.meeting(), nonce })
    return this.step()
  }

  take(text: string): Step {
    if (this.phase === 'over') return { lines: [] }
    const opened = openedLine(text, this.parts.secret, (line) => this.contextOfPeer(line))
    if (opened === undefined) this.stop('seal')
    else {
      this.takenCount++
      const line = parseLine(opened)
      if (line === undefined) this.stop('line')
      else this.takeLine(line)
    }
    return this.step()
  }

  private step(): Step {
    const lines = this.out
    this.out = []
    return { lines, over: this.over }
  }

  private send(...lines: readonly Line[]): void {
    const { secret, own, peer, nonce } = this.parts
    for (const line of lines) {
      const toNonce = line.type === 'hill' ? '' : this.peerNonce
      const context = { from: own, to: peer, fromNonce: nonce, toNonce, number: this.sentCount++ }
      this.out.push(sealedLine(formatLine(line), secret, context))
    }
  }

  /** The first line of a session says the nonce that its own seal is made with. */
  private contextOfPeer(line: string): SealContext {
    const { own, peer, nonce } = this.parts
    const isFirst = this.phase === 'greeting'
    const fromNonce = isFirst ? (line.split(' ').at(-1) ?? '') : this.peerNonce
    const toNonce = isFirst ? '' : nonce
    return { from: peer, to: own, fromNonce, toNonce, number: this.takenCount }
  }

  private finish(how: string): void {
    this.phase = 'over'
    this.over = how
  }

  private stop(reason: string): void {
    this.send({ type: 'stop', reason })
    this.finish(`stopped: ${reason}`)
  }

  /** @param done whether the database took it */
  private held(done: boolean): boolean {
    if (!done) this.stop('disk')
    return done
  }

  private takeLine(line: Line): void {
    if (line.type === 'stop') this.finish(`stopped by the other: ${line.reason}`)
    else if (this.phase === 'greeting' && line.type === 'hill') this.takeHill(line)
    else if (this.phase === 'agreeing' && line.type === 'session') this.takeSession(line.count)
    else if (this.phase === 'idle') this.takeTurn(line)
    else if (this.phase === 'judging') this.takeOffer(line)
    else if (this.phase === 'asking') this.takeAnswer(line)
    else if (this.phase === 'giving') this.takeKept(line)
    else if (this.phase === 'taking') this.takeEntry(line)
    else this.stop('order')
  }

  private takeHill(hill: Extract<Line, { type: 'hill' }>): void {
    const { book, peer } = this.parts
    if (hill.call !== peer) {
      this.stop('call')
      return
    }
    this.peerNonce = hill.nonce
    const { epoch, count, confirmed } = hill
    this.meeting = { epoch, count, confirmed }
    this.count = Math.max(book.meeting().count, count) + 1
    if (!this.held(book.meet(this.count))) return
    this.send({ type: 'session', count: this.count })
    this.phase = 'agreeing'
  }

  private takeSession(count: number): void {
    if (count !== this.count || this.meeting === undefined) {
      this.stop('session')
      return
    }
    if (!this.held(this.parts.book.confirm(count, this.meeting))) return
    this.phase = 'idle'
    // Both may have called: the first turn is his whose call sorts first.
    if (this.parts.own < this.parts.peer) this.ownTurn(false)
  }

  /** @param otherHasNothing it has just said so */
  private ownTurn(otherHasNothing: boolean): void {
    const room = this.turns++ < turnsMax ? this.parts.roomOctets() : 0
    const offers = room > 0 ? this.parts.book.offers(room).slice(0, offersMax) : []
    if (offers.length > 0) {
      this.asked = [...offers]
      this.wanted = []
      this.send(...offers.map((offer) => ({ type: 'offer', ...offer }) as const), { type: 'asked' })
      this.phase = 'asking'
    } else if (otherHasNothing) {
      this.send({ type: 'end' })
      this.finish('complete')
    } else {
      this.send({ type: 'nothing' })
      this.phase = 'idle'
    }
  }

  private takeTurn(line: Line): void {
    if (this.turns > turnsMax) this.stop('turns')
    else if (line.type === 'nothing') this.ownTurn(true)
    else if (line.type === 'end') this.finish('complete')
    else if (line.type === 'offer') {
      this.judged = []
      this.phase = 'judging'
      this.takeOffer(line)
    } else this.stop('order')
  }

  private takeOffer(line: Line): void {
    if (line.type === 'offer') {
      const isNew = this.judged.every(({ id }) => id !== line.id)
      if (!isNew || this.judged.length >= offersMax) {
        this.stop('offers')
        return
      }
      const { id, kind, octets, to } = line
      this.judged.push({ id, kind, octets, to })
      return
    }
    if (line.type !== 'asked') {
      this.stop('order')
      return
    }
    this.coming.clear()
    for (const offer of this.judged) {
      const judgement = this.parts.book.judge(offer)
      if (judgement.type === 'want') this.coming.set(offer.id, offer)
      this.send({ id: offer.id, ...judgement })
    }
    this.send({ type: 'answered' })
    this.replies = []
    if (this.coming.size > 0) this.phase = 'taking'
    else this.ownTurn(false)
  }

  private takeAnswer(line: Line): void {
    if (line.type === 'answered') {
      if (this.asked.length > 0) {
        this.stop('answers')
        return
      }
      this.give()
      return
    }
    const offer = this.asked.shift()
    if (offer === undefined || !('id' in line) || line.id !== offer.id) {
      this.stop('answers')
      return
    }
    const { book } = this.parts
    if (line.type === 'want') this.wanted.push(offer.id)
    else if (line.type === 'have') this.held(book.kept(offer.id))
    else if (line.type === 'ended') this.held(book.ended(offer.id, line.outcome))
    else if (line.type === 'refuse') this.held(book.refused(offer.id, line.reason))
    else this.stop('answers')
  }

  private give(): void {
    if (this.wanted.length === 0) {
      this.phase = 'idle'
      return
    }
    this.open.clear()
    for (const id of this.wanted) {
      const entry = this.parts.book.begin(id)
      if (entry === undefined) continue
      this.open.add(id)
      const { subject, text, ...head } = entry
      this.send(
        { type: 'entry', ...head },
        ...(subject === '' ? [] : [{ type: 's', text: subject } as const]),
        ...textLines(text),
        { type: '.' },
      )
    }
    this.send({ type: 'given' })
    this.phase = 'giving'
  }

  private takeKept(line: Line): void {
    const { book } = this.parts
    if (line.type === 'kept' || line.type === 'refuse') {
      if (!this.open.delete(line.id)) this.stop('answers')
      else if (line.type === 'refuse') this.held(book.refused(line.id, line.reason))
      else if (this.held(book.kept(line.id))) this.moved.given++
      return
    }
    if (this.open.size > 0) {
      this.stop('answers')
      return
    }
    this.phase = 'idle'
    this.takeTurn(line)
  }

  private takeEntry(line: Line): void {
    const { entry } = this
    if (line.type === 'given' && entry === undefined) {
      this.send(...this.replies)
      this.ownTurn(false)
    } else if (line.type === 'entry' && entry === undefined) this.beginEntry(line)
    else if (entry === undefined) this.stop('order')
    else if (line.type === '.') this.endEntry(entry)
    else if (!addLine(entry, line)) this.stop('text')
  }

  private beginEntry(head: Extract<Line, { type: 'entry' }>): void {
    const offer = this.coming.get(head.id)
    if (offer === undefined || offer.kind !== head.kind || offer.to !== head.to) {
      this.stop('entry')
      return
    }
    this.coming.delete(head.id)
    const octetsMax = offer.octets
    this.entry = { head, octetsMax, subject: undefined, text: undefined, octets: 0 }
  }

  private endEntry({ head, subject = '', text }: Coming): void {
    this.entry = undefined
    if (text === undefined) {
      this.stop('text')
      return
    }
    const { type: _, ...rest } = head
    const entry = { ...rest, subject, text }
    const fault = head.trace.at(-1) === this.parts.peer ? entryFault(entry) : 'trace'
    const kept = fault === undefined ? this.parts.book.keep(entry) : { reason: fault }
    if (kept === undefined) this.stop('disk')
    else if (kept === 'kept') {
      this.moved.taken++
      this.replies.push({ type: 'kept', id: head.id })
    } else this.replies.push({ type: 'refuse', id: head.id, reason: kept.reason })
  }
}

/** @returns false for a line that has no place there, or one too many */
function addLine(entry: Coming, line: Line): boolean {
  if (line.type === 's') {
    if (entry.subject !== undefined || entry.text !== undefined) return false
    entry.subject = line.text
    return true
  }
  if (line.type !== 't' && line.type !== 'c') return false
  if (entry.text === undefined && line.type === 'c') return false
  const between = line.type === 't' && entry.text !== undefined ? '\n' : ''
  entry.text = `${entry.text ?? ''}${between}${line.text}`
  entry.octets += between.length + octetsOf(line.text)
  return entry.octets <= entry.octetsMax
}
