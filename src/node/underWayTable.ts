import type { MessageRecord } from '../store/messages.js'
import { inOrder, isSameAnswer, type UnderWay } from './underWay.js'

/** The messages under way, by message and by station. */
export interface UnderWayTable {
  add(one: UnderWay): void
  remove(one: UnderWay): void
  /** false once it has ended, or was taken up anew */
  has(one: UnderWay): boolean
  hasId(messageId: number): boolean
  all(): readonly UnderWay[]
  /** in order, as they are now: those that end meanwhile stay in the list */
  to(station: string): readonly UnderWay[]
  /** the parts of its answer that are under way, itself included, in order */
  partsOf(message: MessageRecord): readonly UnderWay[]
  readonly count: number
}

export function underWayTable(): UnderWayTable {
  const byMessage = new Map<number, UnderWay>()
  const byStation = new Map<string, Set<UnderWay>>()
  const to = (station: string): UnderWay[] => inOrder(byStation.get(station) ?? [])
  return {
    add(one) {
      const { id, to: station } = one.message
      byMessage.set(id, one)
      const others = byStation.get(station) ?? new Set()
      others.add(one)
      byStation.set(station, others)
    },
    remove(one) {
      const { id, to: station } = one.message
      byMessage.delete(id)
      const others = byStation.get(station)
      others?.delete(one)
      if (others?.size === 0) byStation.delete(station)
    },
    has: (one) => byMessage.get(one.message.id) === one,
    hasId: (messageId) => byMessage.has(messageId),
    all: () => [...byMessage.values()],
    to,
    partsOf: (message) => to(message.to).filter((one) => isSameAnswer(one.message, message)),
    get count() {
      return byMessage.size
    },
  }
}
