import type { Clock } from '../../../src/runtime/clock.js'
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

/** The longest step of some work, CPU ms of the main thread. */
function stepTimer(clock: Clock) {
  let longestMs = 0
  let fromMs = mainThreadMs()
  const ends = (): void => {
    const nowMs = mainThreadMs()
    longestMs = Math.max(longestMs, nowMs - fromMs)
    fromMs = nowMs
  }
  return {
    ends,
    longestMs: () => longestMs,
    /** Whoever waits between steps waits for a turn of the event loop, at which the next step begins. */
    clock: {
      ...clock,
      at: (_: number, run: () => void) => {
        const turn = setImmediate(() => {
          ends()
          run()
        })
        return () => clearImmediate(turn)
      },
    } satisfies Clock,
  }
}

/** The store's own clock, too, stands still here unless it is moved on. */
async function withClock<Value>(
  clock: TimedNode['clock'],
  work: Value | Promise<Value>,
  stepEnds: () => void = () => {},
): Promise<Value> {
  let isDone = false
  const done = Promise.resolve(work).finally(() => {
    isDone = true
  })
  while (!isDone) {
    await new Promise(setImmediate)
    stepEnds()
    await clock.advanceToAsync(clock.monotonicMs() + 1)
    stepEnds()
  }
  return done
}

/** For each request of the page's, its JSON included: its path, CPU ms of the main thread, and those of its longest step. */
export async function holdsOfPage({
  clock,
  store,
  node,
}: TimedNode): Promise<[string, number, number][]> {
  const found: [string, number, number][] = []
  for (const [path, query, at] of asked) {
    const route = allRoutes(false).find((one) => one.path === path)
    if (route === undefined) throw new Error(`there is no ${path}`)
    await withClock(clock, store.settled())
    // the second time: the first one compiles
    for (const isMeasured of [false, true]) {
      const before = mainThreadMs()
      const steps = stepTimer(clock)
      const parts = {
        ...{ clock: steps.clock, call: 'N0DE-10', version: '0', ports: [], node, store },
      }
      const call = {
        ...{ parts, query, at: at ?? {}, visitor: { right: 'control' } },
      } as unknown as Call
      const reply = await withClock(clock, route.handle(call), steps.ends)
      if ('json' in reply) JSON.stringify(reply.json)
      steps.ends()
      if (isMeasured) found.push([path, mainThreadMs() - before, steps.longestMs()])
    }
  }
  return found
}
