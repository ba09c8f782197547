import { spawn } from 'node:child_process'
import { existsSync } from 'node:fs'
import { dirname, join } from 'node:path'
import { childEnd, describeEnd } from '../../devices/child.js'
import type { Edges } from '../../devices/edges.js'
import { Failure } from '../../runtime/failure.js'
import { packageRoot, programVersion } from '../../runtime/installation.js'
import { randomId } from '../../runtime/random.js'
import type { VirtualClock } from '../../runtime/virtualClock.js'
import { readStory } from '../../simulation/story.js'
import { hashPassword } from '../../web/password.js'
import { type PageServer, startPage } from '../../web/server.js'
import { openValley } from './valley.js'

export interface DemoPageOptions {
  /** the scenario's file */
  readonly file: string
  readonly port: number
  readonly edges: Edges
}

const pageFolder = join(packageRoot, 'dist', 'page')
/** Nothing real is keyed: it is shown to everybody. */
const password = 'fog on heron knob'

/** The simulated valley with the page, until it is told to stop. */
export async function demoPage({ file, port, edges }: DemoPageOptions): Promise<void> {
  const { clock, stdout } = edges
  await buildPage()
  const story = readStory(file)
  let page: PageServer | undefined
  const valley = await openValley({
    ...{ story, folder: dirname(file), startWallMs: clock.wallMs() },
    onEvent: (event) => page?.node(event),
  })
  try {
    page = await startPage(
      {
        ...{ clock: valley.clock, call: story.node.call, version: programVersion() },
        ...{ ports: [valley.core], node: valley.node, store: valley.store, tryIt: valley.tryIt },
        config: () => ({
          ...valley.config,
          station: { ...valley.config.station, call: story.node.call },
        }),
        trouble: () => undefined,
        note(event) {
          valley.store.events.add(event)
          page?.node(event)
        },
      },
      {
        ...{ address: '127.0.0.1', port, socket: '', allow: [], hosts: [], public: false },
        ...{ passwordHash: await hashPassword(password), token: [], viewersMax: 20 },
      },
      randomId(edges.random),
      pageFolder,
    )
    stdout.write(
      [
        story.title,
        '',
        `Open this in a browser:  http://localhost:${page.port}/#/try`,
        `For the controls, log in with:  ${password}`,
        '',
        'Simulated: the real receivers and transmit controllers; nothing is transmitted. Ctrl-C ends it.',
        '',
      ].join('\n'),
    )
    await pace(valley.clock, edges)
  } finally {
    await page?.close()
    await valley.close()
  }
}

const stepMs = 20
/** A machine that is busy makes the valley slower, not jumpy. */
const behindMsMax = 500

/** Moves the valley's clock along with the machine's, until Ctrl-C. */
async function pace(virtual: VirtualClock, { clock, onStop }: Edges): Promise<void> {
  let stopped = false
  onStop(() => {
    stopped = true
  })
  let offsetMs = clock.monotonicMs() - virtual.monotonicMs()
  while (!stopped) {
    await new Promise<void>((resume) => void clock.at(clock.monotonicMs() + stepMs, resume))
    const behindMs = clock.monotonicMs() - offsetMs - virtual.monotonicMs()
    if (behindMs > behindMsMax) offsetMs += behindMs - behindMsMax
    const target = Math.min(clock.monotonicMs() - offsetMs, virtual.monotonicMs() + 5 * stepMs)
    if (target > virtual.monotonicMs()) await virtual.advanceToAsync(target)
  }
}

/** In a clone the page is built when it is first asked for; a package brings it along. */
async function buildPage(): Promise<void> {
  const builder = join(packageRoot, 'src', 'packaging', 'page.mjs')
  if (existsSync(builder)) {
    const child = spawn(process.execPath, [builder, '--if-older'], {
      stdio: ['ignore', 'ignore', 'inherit'],
    })
    const end = await childEnd(child)
    if (end.exitCode === 0) return
    if (!existsSync(join(pageFolder, 'index.html')))
      throw notBuilt(`a build that ended with ${describeEnd(end)}`)
  } else if (!existsSync(join(pageFolder, 'index.html'))) throw notBuilt('no page')
}

const notBuilt = (got: string): Failure =>
  new Failure({
    code: 'page-not-built',
    subject: pageFolder,
    got,
    expected: 'the page, as npm run build makes it',
    advice: 'in a clone: npm ci, then npm run build',
  })
