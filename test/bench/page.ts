// The operator's page: what it costs while nobody looks, one looks, ten look; and 500 events a second for a minute with ten
// viewers, one of them a browser.
import { type ChildProcess, spawn } from 'node:child_process'
import { existsSync, mkdtempSync, rmSync } from 'node:fs'
import { tmpdir } from 'node:os'
import { join } from 'node:path'
import { monitorEventLoopDelay } from 'node:perf_hooks'
import { chromium } from 'playwright-core'
import { encodePcm } from '../../src/audio/rawPcm.js'
import { openValley, type Valley } from '../../src/cli/demo/valley.js'
import { readStory } from '../../src/simulation/story.js'
import { type PageServer, startPage } from '../../src/web/server.js'
import { root } from '../tidy/sources.js'
import type { Bench } from './bench.js'
import { differences, openFeed, pause, startNode, threadsOf } from './liveCost.js'
import { table } from './receiveFile.js'
import { recording } from './receiverParts.js'

export const bench: Bench = {
  name: 'page',
  about: 'what viewers of the page cost, and 500 events a second with ten of them',
  async run({ seed, quick }) {
    await flood(quick ? 20 : 60)
    await costs(seed, quick ? 30 : 120)
  },
}

const viewersMax = 10
const warmUpS = 20
const pagePort = 18_719

/** CPU of the real program, hearing audio over TCP, by how many look. */
async function costs(seed: number, measuredS: number): Promise<void> {
  const folder = mkdtempSync(join(tmpdir(), 'ridgepost-page-'))
  const feed = await openFeed(Buffer.from(encodePcm(recording(30, seed).audio, 's16le')))
  const rows: string[][] = [['viewers', 'CPU, % of a core', 'of it the main thread', 'kB/s each']]
  try {
    for (const isEnabled of [false, true]) {
      const page = `[page]\nenabled = ${isEnabled}\nport = ${pagePort}\n`
      const node = startNode(folder, feed.port, 1, page)
      await pause(warmUpS * 1000)
      for (const count of isEnabled ? [0, 1, viewersMax] : [0]) {
        const viewers = count === 0 ? undefined : look(pagePort, count)
        // What is drawn for the first time is compiled first.
        await pause(10_000)
        const before = threadsOf(node.pid!)
        const octets = viewers?.octets() ?? 0
        await pause(measuredS * 1000)
        const used = differences(before, threadsOf(node.pid!))
        const percent = (cpuS: number): string => ((100 * cpuS) / measuredS).toFixed(2)
        rows.push([
          isEnabled ? String(count) : 'no page',
          percent(used.reduce((sum, { cpuS }) => sum + cpuS, 0)),
          percent(used.find(({ name }) => name === 'main')?.cpuS ?? 0),
          viewers ? ((viewers.octets() - octets) / 1000 / measuredS / count).toFixed(1) : '',
        ])
        viewers?.process.kill()
      }
      node.kill('SIGTERM')
      await new Promise((resolve) => node.once('exit', resolve))
    }
  } finally {
    feed.server.close()
    rmSync(folder, { recursive: true })
  }
  console.log(`${table(rows)}\n`)
}

/** Viewers of their own process, so that their cost is not the node's; each says how much came. */
function look(port: number, count: number) {
  const script = `
    let octets = 0, events = 0, resets = 0
    for (let n = 0; n < ${count}; n++)
      require('node:http').get({ port: ${port}, host: '127.0.0.1', path: '/api/v1/stream?spectrum=1' }, (response) => {
        let rest = ''
        response.setEncoding('utf8').on('data', (text) => {
          octets += text.length
          events += text.split('"type":"event"').length - 1
          resets += text.split('event: reset').length - 1
        })
      })
    setInterval(() => process.stdout.write(octets + ' ' + events + ' ' + resets + '\\n'), 100)`
  const process: ChildProcess = spawn(globalThis.process.execPath, ['-e', script])
  let last = [0, 0, 0]
  process.stdout!.on('data', (text: Buffer) => {
    last = text.toString().trim().split('\n').at(-1)!.split(' ').map(Number)
  })
  return { process, octets: () => last[0]!, events: () => last[1]!, resets: () => last[2]! }
}

const eventsPerS = 500

async function flood(seconds: number): Promise<void> {
  let server: PageServer | undefined
  const valley = await openValley({
    story: readStory(join(root, 'samples/demo/valley.toml')),
    folder: join(root, 'samples/demo'),
    startWallMs: Date.now(),
    onEvent: (event) => server?.node(event),
  })
  server = await startPage(
    {
      ...{ clock: valley.clock, call: 'Q7RDG-10', version: '0', config: () => valley.config },
      ...{ ports: [valley.core], node: valley.node, store: valley.store },
      trouble: () => undefined,
      note: () => undefined,
    },
    {
      ...{ address: '127.0.0.1', port: 0, socket: '', allow: [], hosts: [], public: false },
      ...{ passwordHash: '', token: [], viewersMax: 20 },
    },
    'bench',
    join(root, 'dist', 'page'),
  )
  const paced = pace(valley)
  const browser = await openBrowser(server.port!)
  const viewers = look(server.port!, viewersMax - (browser ? 1 : 0))
  await pause(5000)
  globalThis.gc?.()
  const [memory, cpu] = [process.memoryUsage.rss(), process.cpuUsage()]
  const delay = monitorEventLoopDelay({ resolution: 10 })
  delay.enable()
  const startedMs = performance.now()
  let told = 0
  while (performance.now() - startedMs < seconds * 1000) {
    for (; told < ((performance.now() - startedMs) * eventsPerS) / 1000; told++) {
      const event = { kind: 'heard', station: `Q${told % 9}TST-${told % 16}`, radio: 0 } as const
      server.node({ ...event, atWallMs: valley.clock.wallMs(), text: `event ${told} of a flood` })
    }
    await pause(10)
  }
  const used = process.cpuUsage(cpu)
  const grown = process.memoryUsage.rss() - memory
  await pause(1000)
  const count = viewersMax - (browser ? 1 : 0)
  console.log(
    [
      `${told} events in ${seconds} s to ${viewersMax} viewers, the simulated valley running in the same thread:`,
      `  each plain viewer got ${Math.round(viewers.events() / count)} events; begun anew ${viewers.resets()} times`,
      `  CPU of server and simulation ${((used.user + used.system) / 1e4 / seconds).toFixed(0)} % of a core; memory ${(grown / 1e6).toFixed(0)} MB more`,
      `  event loop: ${(delay.percentile(99) / 1e6).toFixed(0)} ms late at the 99th per cent, ${(delay.max / 1e6).toFixed(0)} ms at most`,
      `  the simulation's clock lost ${paced.behindMs().toFixed(0)} ms in all`,
      browser ? `  the browser's long tasks: ${await browser.longTasks()}` : '  no Chromium here',
    ].join('\n'),
  )
  viewers.process.kill()
  await browser?.close()
  paced.stop()
  await server.close()
  await valley.close()
}

/** More at once would keep the server from its turn. */
const stepMsMax = 100

/** The valley's clock goes with the machine's; what it cannot make up for is counted. */
function pace(valley: Valley) {
  let isRunning = true
  let behindMs = 0
  const run = async (): Promise<void> => {
    let lastMs = performance.now()
    while (isRunning) {
      await pause(20)
      const nowMs = performance.now()
      const stepMs = Math.min(stepMsMax, nowMs - lastMs)
      behindMs += nowMs - lastMs - stepMs
      lastMs = nowMs
      await valley.clock.advanceToAsync(valley.clock.monotonicMs() + stepMs)
    }
  }
  void run()
  return {
    behindMs: () => behindMs,
    stop() {
      isRunning = false
    },
  }
}

async function openBrowser(port: number) {
  const executablePath = ['/usr/bin/chromium', '/usr/bin/chromium-browser'].find(existsSync)
  if (executablePath === undefined) return undefined
  const browser = await chromium.launch({ executablePath, args: ['--no-sandbox'] })
  const page = await browser.newPage()
  await page.goto(`http://localhost:${port}/#/now`)
  await page.locator('.sentence').waitFor()
  // What it does to begin with is no part of the flood.
  await page.evaluate(`window.long = []; new PerformanceObserver((list) => {
    for (const { duration } of list.getEntries()) window.long.push(Math.round(duration))
  }).observe({ type: 'longtask' })`)
  return {
    async longTasks(): Promise<string> {
      const all = await page.evaluate<number[]>('window.long')
      const over = all.filter((ms) => ms > 200)
      return `${all.length}, the longest ${Math.max(0, ...all)} ms, over 200 ms ${over.length}`
    },
    close: () => browser.close(),
  }
}
