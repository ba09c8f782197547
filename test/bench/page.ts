// The operator's page: what it costs while nobody looks, one looks, ten look; and 500 events a second for a minute with ten
// viewers, one of them a browser.
import type { ChildProcess } from 'node:child_process'
import { mkdirSync, mkdtempSync, rmSync } from 'node:fs'
import { tmpdir } from 'node:os'
import { join } from 'node:path'
import { encodePcm } from '../../src/audio/rawPcm.js'
import type { Bench } from './bench.js'
import { differences, openFeed, pause, startNode, threadsOf } from './liveCost.js'
import { pageFlood } from './pageFlood.js'
import { openViewers, type Viewers } from './pageViewers.js'
import { table } from './receiveFile.js'
import { recording } from './receiverParts.js'

export const bench: Bench = {
  name: 'page',
  about: 'what viewers of the page cost, and 500 events a second with ten of them',
  async run({ seed, quick }) {
    await pageFlood(seed, quick ? 30 : 60)
    await costs(seed, quick ? 6 : 12)
  },
}

const warmUpS = 20
const windowS = 10
const pagePort = 18_719

interface Tried {
  readonly name: string
  readonly viewerCount: number
  readonly node: ChildProcess
  readonly viewers: Viewers | undefined
  /** of each window: all threads, and the main one, % of a core */
  readonly used: { readonly all: number; readonly main: number }[]
}

/**
 * CPU of the real program, hearing audio over TCP, by how many look: all of them at the same time, window by window, so that
 * what else the machine does weighs on each alike.
 */
async function costs(seed: number, windowCount: number): Promise<void> {
  const folder = mkdtempSync(join(tmpdir(), 'ridgepost-page-'))
  const feed = await openFeed(Buffer.from(encodePcm(recording(30, seed).audio, 's16le')))
  const tried = [undefined, 0, 1, 10].map((count, index): Omit<Tried, 'viewers'> => {
    const own = join(folder, String(index))
    mkdirSync(own)
    const page = `[kiss.tcp]\nenabled = false\n[page]\nenabled = ${count !== undefined}\nport = ${pagePort + index}\n`
    const name = count === undefined ? 'no page' : String(count)
    const node = startNode(own, feed.port, 1, page)
    return { name, viewerCount: count ?? 0, node, used: [] }
  })
  try {
    await pause(warmUpS * 1000)
    const all = tried.map((one, index): Tried => {
      const { viewerCount } = one
      const viewers = viewerCount > 0 ? openViewers(pagePort + index, viewerCount) : undefined
      return { ...one, viewers }
    })
    // What is done for the first time is compiled first.
    await pause(warmUpS * 1000)
    const octets = all.map(({ viewers }) => viewers?.octets() ?? 0)
    for (let count = 0; count < windowCount; count++) await measureWindow(all)
    const rows = all.map(({ name, used, viewers, viewerCount }, index) => [
      ...[name, percent(used.map((one) => one.all)), percent(used.map((one) => one.main))],
      index === 0 ? '' : percent(used.map((one, at) => one.all - all[0]!.used[at]!.all)),
      viewers === undefined
        ? ''
        : (
            (viewers.octets() - octets[index]!) /
            1000 /
            windowS /
            windowCount /
            viewerCount
          ).toFixed(1),
    ])
    const heads = ['viewers', 'CPU, % of a core', 'main thread', 'more than no page', 'kB/s each']
    console.log(
      `Medians of ${windowCount} windows of ${windowS} s:\n\n${table([heads, ...rows])}\n`,
    )
    for (const { viewers } of all) viewers?.stop()
  } finally {
    for (const { node } of tried) {
      node.kill('SIGTERM')
      await new Promise((resolve) => node.once('exit', resolve))
    }
    feed.server.close()
    rmSync(folder, { recursive: true })
  }
}

async function measureWindow(all: readonly Tried[]): Promise<void> {
  const before = all.map(({ node }) => threadsOf(node.pid!))
  await pause(windowS * 1000)
  for (const [index, { node, used }] of all.entries()) {
    const threads = differences(before[index]!, threadsOf(node.pid!))
    const share = (cpuS: number): number => (100 * cpuS) / windowS
    used.push({
      all: share(threads.reduce((sum, { cpuS }) => sum + cpuS, 0)),
      main: share(threads.find(({ name }) => name === 'main')?.cpuS ?? 0),
    })
  }
}

const percent = (values: readonly number[]): string =>
  values.toSorted((a, b) => a - b)[values.length >> 1]!.toFixed(2)
