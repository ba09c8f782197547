import type { Call } from '../../../src/web/route.js'
import { allRoutes } from '../../../src/web/routes.js'
import type { TimedNode } from './filled.js'
import { mainThreadMs } from './threadCpu.js'

/** What a viewer of the page may ask for, with the most rows of each. */
const asked: readonly (readonly [string, Record<string, unknown>, Record<string, string>?])[] = [
  ['/api/v1/stations', { limit: 20_000 }],
  ['/api/v1/stations.csv', { limit: 20_000 }],
  ['/api/v1/stations.geojson', { limit: 20_000 }],
  ['/api/v1/stations.gpx', { limit: 20_000 }],
  ['/api/v1/coverage.geojson', { since: 0 }],
  ['/api/v1/stations/{call}', {}, { call: 'Q0AAA' }],
  ['/api/v1/conversations', { limit: 1_000 }],
  ['/api/v1/conversations/{id}', {}, { id: '1' }],
  ['/api/v1/mailbox', { limit: 1_000 }],
  ['/api/v1/notices', { limit: 1_000 }],
  ['/api/v1/transmissions', { limit: 1_000 }],
  ['/api/v1/capture.pcap', { since: 0 }],
]

/**
 * Between long steps the program waits by the clock, which stands still here unless it is moved on.
 * @returns what the work gave, and the longest of its steps, CPU ms of the main thread
 */
async function withClock<Value>(
  clock: TimedNode['clock'],
  work: () => Value | Promise<Value>,
): Promise<[Value, number]> {
  let isDone = false
  let longestMs = 0
  let fromMs = mainThreadMs()
  const stepEnds = (): void => {
    const nowMs = mainThreadMs()
    longestMs = Math.max(longestMs, nowMs - fromMs)
    fromMs = nowMs
  }
  const done = Promise.resolve(work()).finally(() => {
    isDone = true
  })
  await new Promise(setImmediate)
  stepEnds()
  while (!isDone) {
    await clock.advanceToAsync(clock.monotonicMs() + 1)
    await new Promise(setImmediate)
    stepEnds()
  }
  return [await done, longestMs]
}

/** For each request of the page's, its JSON included: its path, CPU ms of the main thread, and those of its longest step. */
export async function holdsOfPage({
  clock,
  store,
  node,
}: TimedNode): Promise<[string, number, number][]> {
  const parts = { clock, call: 'N0DE-10', version: '0', ports: [], node, store }
  const found: [string, number, number][] = []
  for (const [path, query, at] of asked) {
    const route = allRoutes(false).find((one) => one.path === path)
    if (route === undefined) throw new Error(`there is no ${path}`)
    const call = { parts, query, at: at ?? {}, visitor: { right: 'control' } } as unknown as Call
    await withClock(clock, () => store.settled())
    // the second time: the first one compiles
    for (const isMeasured of [false, true]) {
      const before = mainThreadMs()
      const [reply, longestMs] = await withClock(clock, () => route.handle(call))
      const writingMs = mainThreadMs()
      if ('json' in reply) JSON.stringify(reply.json)
      const nowMs = mainThreadMs()
      if (isMeasured) found.push([path, nowMs - before, Math.max(longestMs, nowMs - writingMs)])
    }
  }
  return found
}
