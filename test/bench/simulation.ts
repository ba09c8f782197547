import { existsSync, mkdtempSync } from 'node:fs'
import { tmpdir } from 'node:os'
import { join } from 'node:path'
import type { RunFigures } from '../../src/simulation/checkers.js'
import { crashRun } from '../../src/simulation/crashRun.js'
import { runSimulation } from '../../src/simulation/runSimulation.js'
import type { Bench } from './bench.js'

const scenario = { questionCount: 1_000, stationCount: 20, lossShare: 0.3, thinkMs: 400_000 }

/** Many hand-helds and the node on one channel; then the same with its process killed 200 times. */
export const bench: Bench = {
  name: 'simulation',
  about: '1,000 questions from 20 stations with 30 % of frames lost each way; kill -9 of the node',
  async run({ seed, quick }) {
    const seeds = Array.from({ length: quick ? 2 : 5 }, (_, index) => seed + index)
    console.log(header)
    for (const one of seeds) {
      const { figures, problems, lastedMs } = await runSimulation({ ...scenario, seed: one })
      console.log(row(String(one), figures, lastedMs, problems))
      report(figures, problems)
    }
    await killed(seed)
  },
}

async function killed(seed: number): Promise<void> {
  const entry = join(import.meta.dirname, '../../dist/src/simulation/crashNode.js')
  if (!existsSync(entry)) {
    console.log(`kill -9: not run, ${entry} is not built`)
    return
  }
  const file = join(mkdtempSync(join(tmpdir(), 'ridgepost-bench-')), 'node.db')
  const began = process.hrtime.bigint()
  const { figures, problems, lastedMs, killCount, killMoments } = await crashRun({
    ...scenario,
    seed,
    file,
    entry,
    killCount: 200,
    killShare: 0.015,
    spinMs,
  })
  const tookS = Number(process.hrtime.bigint() - began) / 1e9
  console.log(
    `\nkill -9 at ${killCount} moments ${JSON.stringify(killMoments)}, ${tookS.toFixed(0)} s`,
  )
  console.log(header)
  console.log(row(String(seed), figures, lastedMs, problems))
  report(figures, problems)
}

const header =
  'seed  questions  acknowledged  answered  confirmed  mail left/delivered  channel ms per answer  node ms per answer  median wait s  hours'

function row(
  seed: string,
  figures: RunFigures,
  lastedMs: number,
  problems: readonly string[],
): string {
  const cells: [string, number][] = [
    [seed, 4],
    [String(figures.questions), 11],
    [String(figures.acknowledged), 14],
    [String(figures.answered), 10],
    [String(figures.confirmed), 11],
    [`${figures.mailLeft}/${figures.mailDelivered}`, 21],
    [figures.channelMsPerAnswered.toFixed(0), 23],
    [figures.nodeMsPerAnswered.toFixed(0), 20],
    [(figures.answerAfterMsMedian / 1000).toFixed(1), 15],
    [(lastedMs / 3_600_000).toFixed(1), 7],
  ]
  const line = cells.map(([text, width]) => text.padStart(width)).join('')
  return problems.length === 0 ? line : `${line}  ${problems.length} PROBLEMS`
}

function report(figures: RunFigures, problems: readonly string[]): void {
  const reasons = Object.entries(figures.givenUp).map(([reason, count]) => `${count} ${reason}`)
  console.log(`      not answered: ${reasons.join(', ') || 'none'}`)
  for (const problem of problems) console.log(`      ${problem}`)
}

/** Real time, on purpose: it decides where within its work the process is killed. */
const spinMs = (ms: number): void => {
  const end = process.hrtime.bigint() + BigInt(Math.round(ms * 1e6))
  while (process.hrtime.bigint() < end) {
    // burn
  }
}
