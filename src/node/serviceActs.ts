import { type Cancel, type Clock, every } from '../runtime/clock.js'
import { errorText } from '../runtime/errorText.js'
import type { Occasion, Service } from '../services/service.js'
import type { Store } from '../store/store.js'
import type { ContextFor } from './answering.js'
import type { Journal } from './journal.js'
import type { KeptByServices } from './keptByServices.js'
import type { NodeOptions } from './options.js'
import type { Outbox } from './outbox.js'
import { rateLimit } from './rateLimit.js'

/** Services that act without being asked. */
export interface ServiceActing {
  start(): void
  /** A frame of this station was heard. */
  heard(call: string): void
  stop(): void
}

export interface ServiceActingParts {
  readonly clock: Clock
  readonly store: Store
  readonly note: Journal
  readonly services: readonly Service[]
  readonly nextId: () => string
  /** own call of the node, in whose name a service acts */
  readonly call: string
  readonly contextFor: ContextFor
  readonly storage: KeptByServices
  readonly outbox: Outbox
  readonly options: Pick<NodeOptions, 'answering'>
  /** local time at which the quiet hours that hold now are over */
  readonly quietUntil: () => string | undefined
}

const minuteMs = 60_000
/** Of one service at a time; what comes meanwhile is left out. */
const openMax = 5
/** A station that sends without pause is told of once in that time. */
const heardAgainMs = 60_000

export function serviceActing(parts: ServiceActingParts): ServiceActing {
  const { clock, store } = parts
  /** when each service acts next, by keyword */
  const dueMs = new Map<string, number>()
  const open = new Map<string, number>()
  const told = rateLimit(heardAgainMs)
  let cancel: Cancel = () => {}
  let running = false

  const act = async (service: Service, occasion: Occasion): Promise<void> => {
    const { keyword } = service
    const count = open.get(keyword) ?? 0
    if (count >= openMax) return
    open.set(keyword, count + 1)
    const written = parts.storage.begin()
    try {
      const context = parts.contextFor(parts.call, parts.services, written)
      await service.acts!.act(occasion, context)
      if (!running) return
      const id = parts.nextId()
      const kept = store.durably(`what the service ${keyword} did`, () => written.commit(id))
      if (kept.ok) parts.outbox.add(kept.value)
    } catch (error) {
      parts.note('fault', `the service ${keyword}`, { reason: errorText(error) })
    } finally {
      written.end()
      open.set(keyword, open.get(keyword)! - 1)
    }
  }

  const look = (): void => {
    // What is due meanwhile is done as soon as it may.
    const mayTell = parts.options.answering && parts.quietUntil() === undefined
    const nowMs = clock.monotonicMs()
    for (const service of parts.services) {
      const { everyMs, onlyKeeps = false } = service.acts ?? {}
      if (everyMs === undefined || !(mayTell || onlyKeeps)) continue
      // A file that was changed may say a shorter time than it did.
      const due = Math.min(dueMs.get(service.keyword) ?? Infinity, nowMs + everyMs)
      dueMs.set(service.keyword, due <= nowMs ? nowMs + everyMs : due)
      if (due <= nowMs) void act(service, { kind: 'time' })
    }
  }

  return {
    start() {
      running = true
      look()
      cancel = every(clock, minuteMs, look)
    },
    heard(call) {
      for (const service of parts.services) {
        if (service.acts?.onHeard !== true) continue
        const [name, nowMs] = [`${service.keyword} ${call}`, clock.monotonicMs()]
        // Only what it is told counts: a station that is heard twice a minute would else be told of once for ever.
        if (told.count(name, nowMs) > 0) continue
        told.note(name, nowMs)
        const station = store.stations.find(call)
        if (station !== undefined) void act(service, { kind: 'heard', station })
      }
    },
    stop() {
      running = false
      cancel()
    },
  }
}
