import { setNewest } from '../../runtime/setNewest.js'

/** Hand-overs that an entry may make: from where it began to the third node after that. */
export const hopsMax = 3

/** A way to a node. Times are monotonic. */
export interface Route {
  readonly node: string
  /** the neighbour that it begins with */
  readonly next: string
  /** hand-overs on it, 1 to hopsMax */
  readonly hops: number
  readonly learntAtMs: number
}

/**
 * Ways to other nodes. What a neighbour hands over names the nodes that it came by, the first of them where it began: turned round,
 * that is a way there, and one that was acknowledged hand by hand.
 */
export interface Routes {
  /** @param trace nodes that handed it on, the first where it began, the last the neighbour that it came from */
  learn(trace: readonly string[], nowMs: number): void
  /**
   * The neighbour to hand something to that is to go to a node: the shortest way, and of two the newer one.
   * @param avoid nodes that had it already
   */
  next(node: string, avoid: readonly string[], nowMs: number): Route | undefined
  /** the best way to each node */
  all(nowMs: number): readonly Route[]
}

const nodesMax = 200
const waysMax = 4
/** What nobody has used or named for so long is not counted on. */
const ageMsMax = 48 * 3_600_000
/** A way that nobody has named for so long may have become a longer one. */
const detourMs = 12 * 3_600_000

/** @param own how this node names itself */
export function routes(own: string): Routes {
  const ways = new Map<string, Route[]>()

  const sorted = (node: string, nowMs: number): Route[] =>
    (ways.get(node) ?? [])
      .filter(({ learntAtMs }) => nowMs - learntAtMs <= ageMsMax)
      .sort((one, other) => one.hops - other.hops || other.learntAtMs - one.learntAtMs)

  const note = (route: Route): void => {
    const known = sorted(route.node, route.learntAtMs)
    const same = known.find(({ next }) => next === route.next)
    const others = known.filter((one) => one !== same)
    // The same news comes by a detour, too: that does not make the way longer.
    if (same && same.hops < route.hops && route.learntAtMs - same.learntAtMs < detourMs) return
    setNewest(ways, route.node, [route, ...others].slice(0, waysMax), nodesMax)
  }

  return {
    learn(trace, nowMs) {
      const next = trace.at(-1)
      if (next === undefined || !isTrace(trace) || trace.includes(own)) return
      trace.forEach((node, index) => {
        note({ node, next, hops: trace.length - index, learntAtMs: nowMs })
      })
    },
    next: (node, avoid, nowMs) => sorted(node, nowMs).find(({ next }) => !avoid.includes(next)),
    all: (nowMs) => [...ways.keys()].flatMap((node) => sorted(node, nowMs).slice(0, 1)),
  }
}

/** No node twice, and no more of them than hand-overs are allowed. */
export const isTrace = (trace: readonly string[]): boolean =>
  trace.length >= 1 && trace.length <= hopsMax && new Set(trace).size === trace.length
