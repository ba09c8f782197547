import { type Cancel, type Clock, every } from '../runtime/clock.js'
import { type ClockTrust, wallAgeMs } from '../runtime/clockTrust.js'
import type { NamesView } from '../services/event/namesView.js'
import { agoWords } from '../services/geo/words.js'
import {
  heardCountsMs,
  type Watch,
  watchKey,
  watchKind,
  watchRecords,
} from '../services/watchRecords.js'
import type { MessageRecord } from '../store/messages.js'
import type { Store } from '../store/store.js'
import type { Journal } from './journal.js'
import type { WordingFor } from './nodeWording.js'
import type { NodeOptions } from './options.js'
import type { Outbox } from './outbox.js'

/*
 * Who is overdue, and who waits for a station. The time of a watch is counted down by the monotonic clock, so that setting the
 * wall clock changes nothing; that clock goes on while the program is started anew. A machine that was started anew knows the count as
 * it was written last, which is never less than what is left; once the wall clock is confirmed by GPS or network time, the end by
 * that clock may shorten it, and never lengthens it: without such a source a watch is later, by as long as the machine was off.
 */

/** Ends what people watch for: in good time, once. */
export interface Watching {
  start(): void
  /** What a service keeps has changed. */
  changed: (service: string) => void
  heard(call: string): void
  stop(): void
}

export interface WatchingParts {
  readonly clock: Clock
  readonly clockTrust: ClockTrust
  /** names the boot of the machine that the monotonic clock counts from; undefined where nothing tells */
  readonly bootId?: string | undefined
  readonly store: Store
  readonly note: Journal
  readonly wording: WordingFor
  readonly outbox: Pick<Outbox, 'add'>
  readonly options: Pick<NodeOptions, 'operators' | 'mailbox'>
  /** inside a transaction */
  readonly newNumber: (call: string) => string
  readonly radioFor: (call: string) => number
  /** the tactical names of an event; absent where none is configured */
  readonly names?: Pick<NamesView, 'holder'> | undefined
}

const lookEveryMs = 60_000
/** A restart without a clock may be late by as much. */
const writeEveryMs = 600_000
/** Who was due while the node was away has so long to be heard before anybody is told. */
const graceMs = 600_000

/** All times are of the monotonic clock. */
interface Counted {
  readonly watch: Watch
  readonly deadlineMs: number
  /** being heard from then on ends it */
  readonly countsFromMs: number
  readonly heardMs: number | undefined
  /** of a former boot: the wall clock may know better, once */
  readonly isOld: boolean
}

const isBack = ({ watch, heardMs, countsFromMs }: Counted): boolean =>
  watch.kind === 'back' && heardMs !== undefined && heardMs >= countsFromMs

export const watching = (parts: WatchingParts): Watching => new Watches(parts)

class Watches implements Watching {
  private readonly counted = new Map<string, Counted>()
  private isChanged = true
  private writtenMs: number
  private cancel: Cancel = () => {}
  private running = false

  constructor(private readonly parts: WatchingParts) {
    this.writtenMs = parts.clock.monotonicMs()
  }

  start(): void {
    this.running = true
    this.counted.clear()
    this.read(true)
    this.recallWall()
    this.compareWithWall()
    this.cancel = every(this.parts.clock, lookEveryMs, () => this.look())
  }

  readonly changed = (service: string): void => {
    if (service === watchRecords) this.isChanged = true
  }

  heard(heardCall: string): void {
    if (!this.running) return
    if (this.isChanged) this.read(false)
    const heardMs = this.parts.clock.monotonicMs()
    for (const [key, one] of this.counted) {
      const { kind, from, name } = one.watch
      if (kind === 'back') {
        if (from !== heardCall) continue
        const heard = { ...one, heardMs }
        this.counted.set(key, heard)
        if (isBack(heard)) this.end(key, 'that somebody is back', () => [])
        continue
      }
      const call = this.calledNow(one.watch)
      if (call === heardCall || (call === heardCall.split('-')[0] && from !== heardCall)) {
        this.end(key, 'that a station is heard', () => [
          this.message(from, this.parts.wording().say('isHeard', { call: name ?? heardCall })),
        ])
      }
    }
  }

  stop(): void {
    this.running = false
    this.cancel()
  }

  private look(): void {
    if (this.isChanged) this.read(false)
    this.compareWithWall()
    const nowMs = this.parts.clock.monotonicMs()
    for (const [key, one] of this.counted) {
      const { watch, deadlineMs } = one
      if (isBack(one)) this.end(key, 'that somebody is back', () => [])
      else if (deadlineMs > nowMs) continue
      else if (watch.kind === 'back') this.overdue(key, watch)
      else this.notHeard(key, watch)
    }
    this.write()
  }

  private read(isOld: boolean): void {
    const { store, clock } = this.parts
    const all = store.reading('watches', undefined, () => [
      ...store.serviceData.records(watchRecords, watchKind).values(),
    ])
    this.isChanged = all === undefined
    if (all === undefined) return
    const keys = new Set(all.map(watchKey))
    for (const key of this.counted.keys()) if (!keys.has(key)) this.counted.delete(key)
    const nowMs = clock.monotonicMs()
    for (const watch of all) {
      const key = watchKey(watch)
      if (this.counted.get(key)?.watch.id === watch.id) continue
      const ofThisBoot = isOld ? this.leftInThisBoot(watch) : undefined
      const leftMs = ofThisBoot ?? watch.remainingMs
      this.counted.set(key, {
        ...{ watch, heardMs: undefined, isOld: isOld && ofThisBoot === undefined },
        deadlineMs: nowMs + (isOld ? Math.max(leftMs, graceMs) : leftMs),
        countsFromMs: nowMs + leftMs - heardCountsMs(watch.totalMs),
      })
      // Not to lose it to a restart within the first minutes.
      if (!isOld) this.writtenMs = Number.NEGATIVE_INFINITY
    }
  }

  /** Of a former run under the same boot, whose monotonic clock went on. */
  private leftInThisBoot({ boot }: Watch): number | undefined {
    const { bootId, clock } = this.parts
    return boot === undefined || boot.id !== bootId ? undefined : boot.dueMs - clock.monotonicMs()
  }

  /** What network time had said before may be of no use any more: the clock was set while nobody looked. */
  private recallWall(): void {
    const { bootId, clockTrust } = this.parts
    const all = [...this.counted.values()].map(({ watch }) => watch.boot)
    const former = all.find((boot) => boot !== undefined && boot.id === bootId)
    if (former !== undefined) clockTrust.wasAhead(former.wallAheadMs)
  }

  /** By a clock that is confirmed an old count is shortened. */
  private compareWithWall(): void {
    const { clock, clockTrust } = this.parts
    if (!clockTrust.confirmed()) return
    const [nowMs, wallMs] = [clock.monotonicMs(), clock.wallMs()]
    for (const [key, one] of this.counted) {
      if (!one.isOld) continue
      const { dueWallMs, totalMs } = one.watch
      const leftMs = dueWallMs === undefined ? Infinity : dueWallMs - wallMs
      this.counted.set(key, {
        ...{ ...one, isOld: false },
        deadlineMs: Math.min(one.deadlineMs, nowMs + Math.max(leftMs, graceMs)),
        countsFromMs: Math.min(one.countsFromMs, nowMs + leftMs - heardCountsMs(totalMs)),
      })
    }
  }

  private write(): void {
    const { clock, clockTrust, store, bootId } = this.parts
    const nowMs = clock.monotonicMs()
    if (this.counted.size === 0 || nowMs - this.writtenMs < writeEveryMs) return
    this.writtenMs = nowMs
    // A stamp is of use only to a clock that is as right as the one it was made by.
    const isConfirmed = clockTrust.confirmed()
    const wallAheadMs = isConfirmed ? clock.wallMs() - nowMs : undefined
    store.durably('how long watches have left', () => {
      for (const [key, { watch, deadlineMs }] of this.counted) {
        const remainingMs = deadlineMs - nowMs
        const dueWallMs = isConfirmed ? clock.wallMs() + remainingMs : watch.dueWallMs
        const boot = bootId && { id: bootId, dueMs: deadlineMs, wallAheadMs }
        const now: Watch = { ...watch, remainingMs, dueWallMs, boot: boot || undefined }
        store.serviceData.set(watchRecords, key, JSON.stringify(now))
      }
    })
  }

  /** @param messages inside the transaction that ends the watch: either all is kept, or it stands on */
  private end(key: string, what: string, messages: () => MessageRecord[]): boolean {
    const { store, outbox } = this.parts
    const kept = store.durably(what, () => {
      store.serviceData.delete(watchRecords, key)
      return messages()
    })
    if (!kept.ok) return false
    this.counted.delete(key)
    outbox.add(kept.value)
    return true
  }

  /** Inside a transaction. It waits for its station as long as a message that somebody left. */
  private message(to: string, text: string): MessageRecord {
    const { clock, store, newNumber, radioFor, options } = this.parts
    const wallMs = clock.wallMs()
    return store.messages.insert({
      ...{ kind: 'report', to, text, state: 'waiting', createdWallMs: wallMs },
      ...{ number: newNumber(to), radio: radioFor(to) },
      ...{ replyTo: undefined, questionId: undefined, mailboxId: undefined },
      notAfterWallMs: wallMs + options.mailbox.keepMs,
    })
  }

  /** Whoever holds the name now, where it was said by one. */
  private calledNow({ from, call, name }: Watch): string | undefined {
    const holder = name === undefined ? undefined : this.parts.names?.holder(name)
    return holder === undefined || holder === from ? call : holder
  }

  private overdue(key: string, watch: Watch): void {
    const { from, name, dueText: time } = watch
    const call = this.calledNow(watch)
    const { clock, store, options, note, wording } = this.parts
    const words = wording()
    const { say } = words
    const heardMs = store.stations.find(from)?.lastHeardWallMs
    const agoMs = heardMs === undefined ? undefined : wallAgeMs(heardMs, clock.wallMs())
    const ago = agoMs === undefined ? '?' : agoWords(agoMs, words)
    const text = say('overdue', { call: from, time, ago })
    const { operators } = options
    const named =
      call !== undefined && operators.length > 0
        ? say('andOperator', { call: name ?? call })
        : (name ?? call)
    const told = new Set([...(call === undefined ? [] : [call]), ...operators])
    const isOver = this.end(key, 'that somebody is overdue', () => [
      ...[...told].map((to) => this.message(to, text)),
      this.message(from, say('overdueYou', { who: named ?? say('theOperator') })),
    ])
    const reason = `told: ${[...told].join(', ') || 'nobody'}`
    if (isOver) note('overdue', text, { station: from, reason })
  }

  private notHeard(
    key: string,
    { from, call: named = '', name: call = named, dueText: kept }: Watch,
  ): void {
    this.end(key, 'that a station was not heard', () => [
      this.message(from, this.parts.wording().say('notHeardIn', { call, kept })),
    ])
  }
}
