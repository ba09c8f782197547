// What the receiver costs on three kinds of audio, here and, where another checkout is given, there, in turn: a machine that does
// other things besides changes both alike.
import { execFileSync } from 'node:child_process'
import { join, resolve } from 'node:path'
import { fileURLToPath } from 'node:url'
import { build } from 'esbuild'
import type { Bench } from './bench.js'
import { table } from './receiveFile.js'
import { type CostKind, costKinds } from './receiverCostAudio.js'

const root = fileURLToPath(new URL('../..', import.meta.url))

interface Measured {
  readonly cpuSPerS: number
  readonly frames: number
}

export const bench: Bench = {
  name: 'receiver-cost',
  about:
    'CPU time of the receiver on silence, noise and signals, here and in another checkout (--beside)',
  async run({ seed, output, quick, beside }) {
    const runs = quick ? 3 : 7
    const checkouts = [root, ...(beside === undefined ? [] : [resolve(beside)])]
    const bundles = await Promise.all(
      checkouts.map((checkout, index) =>
        bundleOf(checkout, join(output, `receiver-cost-${index}.mjs`)),
      ),
    )
    const rows = costKinds.map((kind) => {
      const least = bundles.map((): Measured => ({ cpuSPerS: Number.POSITIVE_INFINITY, frames: 0 }))
      for (let run = 0; run < runs; run++)
        for (const [index, bundle] of bundles.entries()) {
          const measured = costOf(bundle, kind, seed)
          if (measured.cpuSPerS < least[index]!.cpuSPerS) least[index] = measured
        }
      const [here, there] = least as [Measured, Measured?]
      const cells = ({ cpuSPerS, frames }: Measured) => [cpuSPerS.toFixed(5), frames]
      const ratio = there === undefined ? [] : [(here.cpuSPerS / there.cpuSPerS).toFixed(2)]
      return [kind, ...least.flatMap(cells), ...ratio]
    })
    const heads = ['CPU s per s', 'frames']
    const more = beside === undefined ? [] : [...heads.map((head) => `there: ${head}`), 'ratio']
    console.log(
      `48 kHz, repair careful; least of ${runs} runs of four rounds, each in a process of its own\n`,
    )
    console.log(table([['audio', ...heads, ...more], ...rows]))
  },
}

/** Packages are those of this checkout: the other one need not be installed. */
async function bundleOf(checkout: string, outfile: string): Promise<string> {
  await build({
    entryPoints: [join(checkout, 'dsp', 'modem', 'receiver.ts')],
    ...{ bundle: true, format: 'esm', platform: 'node', logLevel: 'warning' },
    nodePaths: [join(root, 'node_modules')],
    outfile,
  })
  return resolve(outfile)
}

function costOf(bundle: string, kind: CostKind, seed: number): Measured {
  const script = fileURLToPath(new URL('./entry/receiverCost.ts', import.meta.url))
  const text = execFileSync(
    process.execPath,
    [...process.execArgv, script, bundle, kind, `${seed}`],
    {
      encoding: 'utf8',
      stdio: ['ignore', 'pipe', 'inherit'],
    },
  )
  return JSON.parse(text) as Measured
}
