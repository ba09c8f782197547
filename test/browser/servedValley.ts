import { join } from 'node:path'
import { openValley, type Valley } from '../../src/cli/demo/valley.js'
import { wrapPort } from '../../src/radio/wrapPort.js'
import { systemClock } from '../../src/runtime/systemClock.js'
import { readStory } from '../../src/simulation/story.js'
import type { NodeEvent } from '../../src/store/events.js'
import { hashPassword } from '../../src/web/password.js'
import { type PageServer, startPage } from '../../src/web/server.js'
import { root } from '../tidy/sources.js'

export const password = 'four quite plain words'

/** The simulated valley in real time, and its page on a real socket: the real program but for the air. */
export interface ServedValley {
  readonly valley: Valley
  /** where the page is, such as http://localhost:1234 */
  base(): string
  /** Another run of the program on the same port: nothing of the former one is known to it. */
  serve(boot: string): Promise<void>
  stopServing(): Promise<void>
  /** Tells those who look, as the node does. */
  tell(event: NodeEvent): void
  close(): Promise<void>
}

export interface ServedValleyOptions {
  /** false: nobody sends but who is told to */
  readonly isBusy?: boolean
  /** What happened before anybody looks, on a clock that runs ahead of the machine's. */
  readonly past?: (valley: Valley) => Promise<void>
  /** Its radio is there a second time under this name. */
  readonly second?: string
}

export async function openServedValley({
  isBusy = false,
  past,
  second,
}: ServedValleyOptions = {}): Promise<ServedValley> {
  let server: PageServer | undefined
  let port = 0
  const valley = await openValley({
    story: readStory(join(root, 'samples/demo/valley.toml')),
    folder: join(root, 'samples/demo'),
    startWallMs: systemClock().wallMs(),
    onEvent: (event) => server?.node(event),
    isBusy,
  })
  await past?.(valley)
  const pacing = pace(valley)
  const ports = [
    valley.core,
    ...(second === undefined ? [] : [wrapPort(valley.core, { radio: 1, name: second })]),
  ]
  const stopServing = async (): Promise<void> => {
    await server?.close()
    server = undefined
  }
  return {
    ...{ valley, stopServing, tell: (event) => server?.node(event) },
    base: () => `http://localhost:${port}`,
    async serve(boot) {
      server = await startPage(
        {
          ...{ clock: valley.clock, call: 'Q7RDG-10', version: '0', config: () => valley.config },
          ...{ ports, node: valley.node, store: valley.store, tryIt: valley.tryIt },
          trouble: () => undefined,
          note(event) {
            valley.store.events.add(event)
            server?.node(event)
          },
        },
        {
          ...{ address: '127.0.0.1', port, socket: '', allow: [], hosts: [], public: false },
          ...{ passwordHash: await hashPassword(password), token: [], viewersMax: 20 },
        },
        boot,
        join(root, 'dist', 'page'),
      )
      port = server.port!
    },
    async close() {
      pacing.stop()
      await stopServing()
      await valley.close()
    },
  }
}

const stepMs = 20

/** The valley's clock goes with the machine's, as in the demonstration. */
function pace(valley: Valley): { stop(): void } {
  const clock = systemClock()
  let isRunning = true
  const run = async (): Promise<void> => {
    let lastMs = clock.monotonicMs()
    while (isRunning) {
      await new Promise<void>((resume) => void clock.at(clock.monotonicMs() + stepMs, resume))
      const nowMs = clock.monotonicMs()
      await valley.clock.advanceToAsync(valley.clock.monotonicMs() + Math.min(100, nowMs - lastMs))
      lastMs = nowMs
    }
  }
  void run()
  return {
    stop() {
      isRunning = false
    },
  }
}
