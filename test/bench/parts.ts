// What the parts cost that are off until they are turned on: the real program, `run`, on silence that comes over TCP; plain, and
// with each part alone.
import { spawn } from 'node:child_process'
import { mkdirSync, mkdtempSync, readFileSync, rmSync, writeFileSync } from 'node:fs'
import { tmpdir } from 'node:os'
import { join } from 'node:path'
import { fileURLToPath } from 'node:url'
import type { Bench } from './bench.js'
import { openFeed, threadsOf } from './liveCost.js'
import { memoryMb } from './memoryParts.js'
import { optionalParts } from './parts/optionalParts.js'
import { sampleRateHz } from './receiverParts.js'

const warmUpS = 20

interface Cost {
  readonly files: number
  readonly heapMb: number
  readonly memoryMb: number
  /** of the main thread and of all threads, CPU ms in a second */
  readonly mainMs: number
  readonly allMs: number
}

export const bench: Bench = {
  name: 'parts',
  about: 'what digipeater, connected mode, hills, mail, broker and alerts cost, off and on',
  async run({ quick }) {
    const measuredS = quick ? 30 : 300
    const folder = mkdtempSync(join(tmpdir(), 'ridgepost-parts-'))
    for (const name of ['new', 'cur']) mkdirSync(join(folder, 'maildir', name), { recursive: true })
    const feed = await openFeed(Buffer.alloc(2 * sampleRateHz))
    try {
      console.log(
        '| on | files loaded | heap, MB | memory, MB | main thread, CPU ms a s | all threads, CPU ms a s |',
      )
      console.log('|---|---|---|---|---|---|')
      const rows = [
        { name: 'nothing', config: '' },
        ...optionalParts,
        { name: 'nothing, again', config: '' },
      ]
      for (const { name, config } of rows) {
        const cost = await measure({ folder, port: feed.port, config, measuredS })
        const cells = [
          ...[cost.files, cost.heapMb.toFixed(1), cost.memoryMb.toFixed(0)],
          ...[cost.mainMs.toFixed(2), cost.allMs.toFixed(1)],
        ]
        console.log(`| ${name} | ${cells.join(' | ')} |`)
      }
    } finally {
      feed.server.close()
      rmSync(folder, { recursive: true })
    }
  },
}

const pause = (ms: number): Promise<void> => new Promise((resolve) => setTimeout(resolve, ms))

async function measure(parts: {
  readonly folder: string
  readonly port: number
  readonly config: string
  readonly measuredS: number
}): Promise<Cost> {
  const { folder, port, config, measuredS } = parts
  const file = join(folder, 'node.toml')
  const told = join(folder, 'told.json')
  rmSync(told, { force: true })
  writeFileSync(
    file,
    `[station]\ncall = "N0CALL"\n[store]\nfile = ":memory:"\n[kiss.tcp]\nport = 0\n[audio]\ninput = "tcp:127.0.0.1:${port}"\nrateHz = ${sampleRateHz}\n${config}`,
  )
  const at = (path: string): string => fileURLToPath(new URL(path, import.meta.url))
  const node = spawn(
    process.execPath,
    [
      ...['--expose-gc', '--require', at('parts/partsProbe.cjs')],
      ...[at('../../dist/src/cli/main.js'), 'run', file],
    ],
    { stdio: 'ignore', env: { ...process.env, PARTS_PROBE: told } },
  )
  const ended = new Promise<void>((resolve) => node.once('exit', () => resolve()))
  const pid = node.pid!
  await pause(warmUpS * 1000)
  const before = threadsOf(pid)
  await pause(measuredS * 1000)
  const after = threadsOf(pid)
  const memory = memoryMb(pid)
  node.kill('SIGUSR2')
  const { heapMb, scripts } = await answer(told)
  node.kill('SIGTERM')
  await ended
  const usedMs = (which: (name: string) => boolean): number => {
    const sum = (all: typeof after): number =>
      all.filter(({ name }) => which(name)).reduce((total, { cpuS }) => total + cpuS, 0)
    return (1000 * (sum(after) - sum(before))) / measuredS
  }
  return {
    ...{ files: scripts.length, heapMb, memoryMb: memory },
    ...{ mainMs: usedMs((name) => name === 'main'), allMs: usedMs(() => true) },
  }
}

/** What the probe writes, once it is whole. */
async function answer(file: string): Promise<{ heapMb: number; scripts: string[] }> {
  for (;;) {
    await pause(200)
    try {
      return JSON.parse(readFileSync(file, 'utf8'))
    } catch {
      // not yet
    }
  }
}
