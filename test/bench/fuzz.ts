// Hostile octets into the node and into each parser, guided by which branches they take.
import { writeFileSync } from 'node:fs'
import { join } from 'node:path'
import { setFlagsFromString } from 'node:v8'
import { runInNewContext } from 'node:vm'
import { harmlessText } from '../../src/runtime/harmlessText.js'
import type { Bench } from './bench.js'
import { readCorpus, writeCorpus } from './fuzz/corpusFile.js'
import { type FuzzResult, fuzz, type Target } from './fuzz/engine.js'
import { type Instrumented, instrument } from './fuzz/instrument.js'
import { targets } from './fuzz/targets.js'

const heapMbMax = 2
const reachedShareMin = 0.3

export const bench: Bench = {
  name: 'fuzz',
  about:
    'coverage-guided fuzzing of the node and each parser (--target, --runs, --seconds, --save)',
  async run({ seed, output, quick, target, runs, seconds, save }) {
    const names = target === undefined ? Object.keys(targets) : [target]
    const unknown = names.filter((name) => targets[name] === undefined)
    if (unknown.length > 0)
      throw new Error(
        `fuzz: got ${unknown.join()}, expected one of ${Object.keys(targets).join(', ')}`,
      )
    // Where it was thrown is all that is told of an error, and a parser makes one for each row that it refuses.
    Error.stackTraceLimit = 1
    setFlagsFromString('--expose-gc')
    const collect = runInNewContext('gc') as () => void
    const program = instrument()
    console.log(
      'target         runs   runs/s   a CPU s   reached   longest ms   heap MB   corpus   findings',
    )
    for (const name of names) {
      const made = await targets[name]!(program.load, seed)
      program.arms.fill(0)
      const result = await fuzz(made, {
        ...{ seed, collect, arms: program.arms, corpus: readCorpus(name) },
        runs: runs ?? (quick ? 20_000 : 1_000_000),
        ...(seconds === undefined ? {} : { secondsMax: seconds }),
        onProgress: (done, found, elapsed) =>
          console.error(`  ${name}: ${done} runs, ${found} findings, ${elapsed.toFixed(0)} s`),
      })
      print(name, result, made, join(output, `fuzz-${name}`))
      printTaken(program, result, name === 'frames' ? 'src/node' : undefined)
      if (save) writeCorpus(name, result.telling)
    }
  },
}

/** @param folder of the sources that count; undefined for every file that was reached */
function printTaken(
  { fileOfArm }: Instrumented,
  { isTaken }: FuzzResult,
  folder: string | undefined,
): void {
  const byFile = new Map<string, { all: number; taken: number }>()
  for (const [arm, file] of fileOfArm.entries()) {
    const { all, taken } = byFile.get(file) ?? { all: 0, taken: 0 }
    byFile.set(file, { all: all + 1, taken: taken + (isTaken(arm) ? 1 : 0) })
  }
  const files = [...byFile].filter(([file, { taken }]) =>
    folder === undefined ? taken > 0 : file.startsWith(`${folder}/`),
  )
  const sum = (of: 'all' | 'taken'): number =>
    files.reduce((total, [, count]) => total + count[of], 0)
  const where = folder ?? `the ${files.length} files that it reached`
  console.log(
    `  branches of ${where}: ${sum('taken')} of ${sum('all')} taken, ${((100 * sum('taken')) / sum('all')).toFixed(1)} %`,
  )
}

function print(name: string, result: FuzzResult, target: Target, file: string): void {
  const { runs, seconds, cpuSeconds, findings, longestMs, corpus, heapGrownBytes } = result
  const share = (target.reachedCount ?? 0) / runs
  const isJudged = name === 'frames'
  const heapMb = heapGrownBytes / 1e6
  console.log(
    `${name.padEnd(10)}${String(runs).padStart(9)}${(runs / seconds).toFixed(0).padStart(9)}${(runs / cpuSeconds).toFixed(0).padStart(10)}` +
      `${(target.reachedCount === undefined ? '-' : `${(100 * share).toFixed(1)} %`).padStart(10)}` +
      `${longestMs.toFixed(0).padStart(13)}${heapMb.toFixed(2).padStart(10)}${String(corpus.length).padStart(9)}${String(findings.length).padStart(11)}` +
      `${heapMb > heapMbMax ? `  HEAP OVER ${heapMbMax} MB` : ''}${isJudged && share < reachedShareMin ? '  TOO FEW REACHED' : ''}`,
  )
  const isBad = findings.length > 0 || heapMb > heapMbMax || (isJudged && share < reachedShareMin)
  if (isBad) process.exitCode = 1
  for (const [index, { what, input }] of findings.entries()) {
    writeFileSync(`${file}-${index}.bin`, input)
    console.log(
      `  ${harmlessText(what)}\n    ${Buffer.from(input).toString('base64').slice(0, 200)} (${file}-${index}.bin)`,
    )
  }
}
