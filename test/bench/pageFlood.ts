// 500 events a second for a minute with ten viewers, one of them a browser, beside a radio that hears and keys: what the page,
// the node's main thread, reception and the key line make of it.
import { spawn } from 'node:child_process'
import { mkdtempSync, rmSync, writeFileSync } from 'node:fs'
import { tmpdir } from 'node:os'
import { join } from 'node:path'
import { monitorEventLoopDelay } from 'node:perf_hooks'
import { fileURLToPath } from 'node:url'
import { chromium } from 'playwright-core'
import { encodePcm } from '../../src/audio/rawPcm.js'
import { openRunningNode } from '../../src/cli/run/runNode.js'
import { loadConfig } from '../../src/config/load.js'
import { createSoundCardRadio, type SoundCardRadio } from '../../src/radio/soundCardRadio.js'
import { seededRandom } from '../../src/runtime/random.js'
import { systemClock } from '../../src/runtime/systemClock.js'
import { radioSetup } from '../../src/setup/openRadio.js'
import type { EventKind } from '../../src/store/events.js'
import { type PageServer, startPage } from '../../src/web/server.js'
import { browserArgs, executablePath } from '../browser/chromium.js'
import { compiled } from '../ptt/helperProcess.js'
import { root } from '../tidy/sources.js'
import { pause } from './liveCost.js'
import { openViewers } from './pageViewers.js'
import { recording, sampleRateHz } from './receiverParts.js'

const loopS = 30
const eventsPerS = 500
const viewersMax = 10
const warmUpS = 20
const tone = { everyMs: 5000, durationMs: 1500 }

export async function pageFlood(seed: number, seconds: number): Promise<void> {
  const folder = mkdtempSync(join(tmpdir(), 'ridgepost-flood-'))
  const air = await openAir(folder, seed)
  const station = await openStation(folder, air.ports)
  const page = await openPage(station)
  const stopTones = keyNowAndThen(station.port)
  try {
    await pause(warmUpS * 1000)
    const quiet = await observe(station.port, seconds, async () => pause(seconds * 1000))
    const browser = await openBrowser(page.port!)
    const plain = openViewers(page.port!, viewersMax - (browser ? 1 : 0))
    await pause(5000)
    const before = { rss: process.memoryUsage.rss(), heap: await browser?.heapMb() }
    await browser?.watchTasks()
    const delay = monitorEventLoopDelay({ resolution: 10 })
    delay.enable()
    let told = 0
    const flooded = await observe(station.port, seconds, async () => {
      told = await flood(page, seconds)
    })
    delay.disable()
    const grownMb = (process.memoryUsage.rss() - before.rss) / 1e6
    await pause(1000)
    // The collection that is forced before the heap is read is itself a long task, and none of the page's.
    const tasks = await browser?.tasks()
    const heapMb = await browser?.heapMb()
    const plainCount = viewersMax - (browser ? 1 : 0)
    const ms = (ns: number): string => (ns / 1e6).toFixed(0)
    console.log(
      [
        `${told} events in ${seconds} s to ${viewersMax} viewers; each plain one got ${Math.round(plain.events() / plainCount)}; begun anew ${plain.resets()} times`,
        `  main thread: ${ms(delay.percentile(99))} ms late at the 99th per cent, ${ms(delay.max)} ms at most; memory ${grownMb.toFixed(0)} MB more`,
        browser
          ? `  the browser: ${tasks}; heap ${before.heap} MB before, ${heapMb} MB after`
          : '  no Chromium here',
        `  heard in the ${seconds} s before without viewers: ${heardWords(quiet, air.sentCount)}; keyed ${keyedWords(quiet)}`,
        `  heard during the flood: ${heardWords(flooded, air.sentCount)}; keyed ${keyedWords(flooded)}`,
        `  a frame's stamp differs from its stamp of before by ${driftMs(quiet, flooded).toFixed(1)} ms at most`,
      ].join('\n'),
    )
    plain.stop()
    await browser?.close()
  } finally {
    stopTones()
    await page.close()
    await station.close()
    air.stop()
    rmSync(folder, { recursive: true, force: true })
  }
}

/** A card's audio, in a process that no flood of this one delays. */
async function openAir(folder: string, seed: number) {
  const { audio, sent } = recording(loopS, seed)
  const file = join(folder, 'audio.pcm')
  writeFileSync(file, encodePcm(audio, 's16le'))
  const entry = fileURLToPath(new URL('entry/air.mjs', import.meta.url))
  const child = spawn(process.execPath, [entry, file, String(sampleRateHz)])
  const ports = await new Promise<readonly [number, number]>((resolve) =>
    child.stdout.once('data', (text: Buffer) => resolve(JSON.parse(text.toString()))),
  )
  return { ports, sentCount: sent.size, stop: () => void child.kill() }
}

/** A real radio in its worker thread, with helper process and key line, and a real node; told of what it does is the page. */
async function openStation(folder: string, [input, output]: readonly [number, number]) {
  const configFile = join(folder, 'node.toml')
  writeFileSync(
    configFile,
    `[station]\ncall = "Q7RDG-10"\n[kiss.tcp]\nenabled = false\n[audio]\ninput = "tcp:127.0.0.1:${input}"\n` +
      `output = "tcp:127.0.0.1:${output}"\nrateHz = ${sampleRateHz}\n[ptt]\nkind = "log"\nlogFile = "${join(folder, 'edges.log')}"\n` +
      '[transmit]\nenabled = true\nfullDuplex = true\n',
  )
  const config = await loadConfig(configFile)
  const [clock, random] = [systemClock(), seededRandom(1)]
  const setup = radioSetup(config, 0, folder)
  const port = createSoundCardRadio({
    // The tones are to measure with: a limit would end them.
    setup: { ...setup, transmit: { ...setup.transmit, dutyLimits: [] } },
    ...{ clock, workerFile: compiled('src/radio/worker.js') },
  })
  let page: PageServer | undefined
  const log = {
    ...{ radio: () => {}, note: () => {}, fault: console.error, error: console.error },
    ...{ change: () => {}, node: (event: Parameters<PageServer['node']>[0]) => page?.node(event) },
  }
  let ids = 0
  const nextId = (): string => `flood ${++ids}`
  const running = await openRunningNode({
    ...{ config, configFile, ports: [port], clock, random, nextId, log },
  })
  port.start()
  running.node.start()
  return {
    ...{ port, running, config, clock },
    show(server: PageServer) {
      page = server
    },
    async close() {
      running.stop()
      await port.close()
      await running.release()
    },
  }
}

async function openPage(station: Awaited<ReturnType<typeof openStation>>): Promise<PageServer> {
  const { config, clock, port, running } = station
  const page = await startPage(
    {
      ...{ clock, call: config.station.call, version: '0', config: () => config },
      ...{ ports: [port], node: running.node, store: running.store },
      ...{ trouble: () => undefined, note: () => undefined },
    },
    { ...config.page, port: 0, viewersMax: 20 },
    'bench',
    join(root, 'dist', 'page'),
  )
  station.show(page)
  return page
}

function keyNowAndThen(port: SoundCardRadio): () => void {
  let count = 0
  const timer = setInterval(() => {
    const notAfterMs = systemClock().monotonicMs() + 4000
    port.sendTone({ id: `t${++count}`, tone: 'mark', durationMs: tone.durationMs, notAfterMs })
  }, tone.everyMs)
  return () => clearInterval(timer)
}

interface Observed {
  readonly heard: readonly { readonly key: string; readonly atMs: number }[]
  readonly keyedMs: readonly number[]
}

/** What the radio heard and keyed meanwhile. */
async function observe(
  port: SoundCardRadio,
  seconds: number,
  meanwhile: () => Promise<void>,
): Promise<Observed> {
  const heard: { key: string; atMs: number }[] = []
  const keyedMs: number[] = []
  let keyedAtMs: number | undefined
  const untilMs = systemClock().monotonicMs() + seconds * 1000
  const isOver = (): boolean => systemClock().monotonicMs() > untilMs + 2000
  port.onFrame(({ octets, heardAtMs }) => {
    if (heardAtMs <= untilMs && !isOver())
      heard.push({ key: Buffer.from(octets).toString('hex'), atMs: heardAtMs })
  })
  port.onEvent(({ kind, atMs, reason }) => {
    if (atMs > untilMs || (kind === 'keyed' && reason === 'identification')) return
    if (kind === 'unkeyed' && keyedAtMs !== undefined) keyedMs.push(atMs - keyedAtMs)
    keyedAtMs = kind === 'keyed' ? atMs : kind === 'unkeyed' ? undefined : keyedAtMs
  })
  await meanwhile()
  await pause(1000)
  return { heard, keyedMs }
}

const heardWords = ({ heard }: Observed, sentCount: number): string =>
  `${heard.length} frames, ${new Set(heard.map(({ key }) => key)).size} different of ${sentCount}`

const keyedWords = ({ keyedMs }: Observed): string =>
  `${keyedMs.length} times for ${Math.min(...keyedMs).toFixed(0)} to ${Math.max(...keyedMs).toFixed(0)} ms`

/** Each frame comes again after as long as the audio lasts. */
function driftMs(before: Observed, after: Observed): number {
  const phases = new Map(before.heard.map(({ key, atMs }) => [key, atMs]))
  const loopMs = loopS * 1000
  return after.heard.reduce((most, { key, atMs }) => {
    const was = phases.get(key)
    if (was === undefined) return most
    const off = Math.abs(atMs - was) % loopMs
    return Math.max(most, Math.min(off, loopMs - off))
  }, 0)
}

/** What the page shows, each in its own way. */
const kinds: readonly EventKind[] = [
  ...(['asked', 'acknowledged', 'answered', 'sent', 'refused', 'expired', 'held'] as const),
  ...(['left', 'delivered', 'fault'] as const),
]

/** @returns how many were told */
async function flood(page: PageServer, seconds: number): Promise<number> {
  const startedMs = performance.now()
  let told = 0
  while (performance.now() - startedMs < seconds * 1000) {
    for (; told < ((performance.now() - startedMs) * eventsPerS) / 1000; told++) {
      const station = `Q${told % 9}TST-${told % 16}`
      const kind = kinds[told % kinds.length]!
      const text = `event ${told} of a flood`
      page.node({ atWallMs: Date.now(), kind, station, radio: 0, text, reason: 'to be seen' })
    }
    await pause(10)
  }
  return told
}

async function openBrowser(port: number) {
  if (executablePath === undefined) return undefined
  const args = [...browserArgs, '--js-flags=--expose-gc']
  const browser = await chromium.launch({ executablePath, args })
  const page = await browser.newPage()
  await page.goto(`http://localhost:${port}/#/now`)
  await page.locator('.sentence').waitFor()
  return {
    watchTasks: () => browser.startTracing(page, { categories: [taskCategory] }),
    /** of the page's main thread since they were watched: as long as whoever looks waits, and how much of it was work */
    async tasks(): Promise<string> {
      const all = tasksOf(await browser.stopTracing())
      const ms = (us: number): string => `${(us / 1000).toFixed(0)} ms`
      const of = (key: 'dur' | 'tdur', leastMs: number): number =>
        all.filter((task) => task[key] >= leastMs * 1000).length
      const [wall, cpu] = (['dur', 'tdur'] as const).map((key) =>
        ms(Math.max(0, ...all.map((task) => task[key]))),
      )
      return `${of('dur', 50)} tasks of 50 ms and more, the longest ${wall}, over 200 ms ${of('dur', 200)}; by work ${of('tdur', 50)} of 50 ms and more, the longest ${cpu}, over 200 ms ${of('tdur', 200)}`
    },
    /** of what is in use */
    heapMb: () =>
      page.evaluate<string>('window.gc?.(), (performance.memory.usedJSHeapSize / 1e6).toFixed(1)'),
    close: () => browser.close(),
  }
}

const taskCategory = 'disabled-by-default-devtools.timeline'

/** of the trace of a browser, microseconds */
interface Task {
  readonly name: string
  readonly ph: string
  readonly pid: number
  readonly tid: number
  /** by the clock, and of the processor */
  readonly dur: number
  readonly tdur: number
}

/** Tasks of the main thread of whichever process shows the page: the one with the most of them. */
function tasksOf(trace: Buffer): readonly Task[] {
  const { traceEvents } = JSON.parse(trace.toString()) as {
    traceEvents: (Task & { args: { name?: string } })[]
  }
  const threads = traceEvents
    .filter(({ name, args }) => name === 'thread_name' && args.name === 'CrRendererMain')
    .map(({ pid, tid }) =>
      traceEvents.filter(
        (one) => one.name === 'RunTask' && one.ph === 'X' && one.pid === pid && one.tid === tid,
      ),
    )
  return threads.sort((a, b) => b.length - a.length)[0] ?? []
}
