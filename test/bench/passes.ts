import { execFile } from 'node:child_process'
import { mkdtempSync, rmSync, writeFileSync } from 'node:fs'
import { tmpdir } from 'node:os'
import { join } from 'node:path'
import { fileURLToPath } from 'node:url'
import { promisify } from 'node:util'
import { seededRandom } from '../../src/runtime/random.js'
import { randomTwoLines } from '../services/sky/randomElements.js'
import type { Bench } from './bench.js'

const counts = [100, 1000, 10_000, 30_000, 99_999]
const ageMaxDays = 14

interface Figures {
  readonly loadCpuS: number
  readonly loadS: number
  readonly askCpuS: readonly number[]
  readonly askS: readonly number[]
  readonly longestHoldMs: number
  readonly peakMb: number
  readonly startMb: number
  readonly answer: string
}

/** `pass next` over long lists: each list in a process of its own, so that its memory is its own. */
export const bench: Bench = {
  name: 'passes',
  about: `time and memory of 'pass next' over ${counts[0]} to ${counts.at(-1)} element sets`,
  async run({ seed }) {
    const folder = mkdtempSync(join(tmpdir(), 'ridgepost-passes-'))
    const entry = fileURLToPath(new URL('entry/passes.mjs', import.meta.url))
    const wallMs = Date.UTC(2026, 5, 21, 16)
    console.log(
      '   sets   to load (CPU)     pass next, from five places: s (CPU s)    longest hold   peak memory',
    )
    try {
      for (const count of counts) {
        const random = seededRandom(seed)
        const file = join(folder, `${count}.txt`)
        const sets = Array.from({ length: count }, (_, number) =>
          randomTwoLines(random, number, wallMs, ageMaxDays),
        )
        writeFileSync(file, sets.join(''))
        const { stdout } = await promisify(execFile)(process.execPath, [
          ...[entry, file, String(wallMs)],
        ])
        const figures = JSON.parse(stdout) as Figures
        const asked = figures.askS.map(
          (s, at) => `${s.toFixed(2)} (${figures.askCpuS[at]!.toFixed(2)})`,
        )
        console.log(
          `${String(count).padStart(7)}   ${figures.loadS.toFixed(2)} s (${figures.loadCpuS.toFixed(2)})   ` +
            `${asked.join('  ')}   ${figures.longestHoldMs.toFixed(0)} ms   ` +
            `${figures.peakMb.toFixed(0)} MB (${figures.startMb.toFixed(0)} before)`,
        )
      }
    } finally {
      rmSync(folder, { recursive: true })
    }
  },
}
