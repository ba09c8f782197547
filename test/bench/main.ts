// npm run bench [-- NAME...] [--ladders FOLDER] [--adverse FOLDER] [--full] [--seed N] [--output FOLDER]
// Each benchmark is one file beside this one; it prints its own tables.
import { mkdirSync, readdirSync } from 'node:fs'
import { fileURLToPath } from 'node:url'
import { parseArgs } from 'node:util'
import compile from '../compile.js'
import type { Bench } from './bench.js'

const usage = `npm run bench -- [NAME...] [options]

  --ladders FOLDER   graded recordings, NAME.wav with NAME.json beside it
  --adverse FOLDER   graded recordings of adverse audio
  --beside FOLDER    receiver-cost: another checkout, measured in turn
  --full             all repetitions: the figures of README.md (takes long)
  --seed N           seed of everything random (1)
  --kills N          unkey: so often (40; with --full 1000)
  --load N           unkey: so many busy loops beside it (10)
  --user ID          unkey: the program runs as this user, by number, who may raise no priority
  --minutes N        soak: so long (60); --every S: a forced collection in so many seconds (300); --pace N: the program's clocks,
                     the audio and the traffic run so many times as fast (1)
  --target NAME      fuzz: only this; --runs N, --seconds S: so many, so long; --save: keeps telling inputs
  --days N           campaign, campaign-mutants: so many simulated days, from the seed on (25 and 200; campaign --full 1000)
  --jobs N           campaign: in so many processes (1)
  --no-shrink        campaign: failures are told, and no shortest schedule is looked for
  --mutant NAME      campaign-mutants: this one only
  --output FOLDER    where tables and plots are written (bench-output)
`

async function loadBenches(): Promise<Bench[]> {
  const folder = fileURLToPath(new URL('.', import.meta.url))
  const files = readdirSync(folder).filter((file) => file.endsWith('.ts'))
  const modules = await Promise.all(
    files
      .filter((file) => file !== 'main.ts')
      .map((file) => import(`./${file}`) as Promise<{ bench?: Bench }>),
  )
  return modules.flatMap((module) => (module.bench ? [module.bench] : []))
}

async function main(): Promise<number> {
  const { values, positionals } = parseArgs({
    allowPositionals: true,
    options: {
      ladders: { type: 'string' },
      adverse: { type: 'string' },
      beside: { type: 'string' },
      full: { type: 'boolean', default: false },
      seed: { type: 'string', default: '1' },
      output: { type: 'string', default: 'bench-output' },
      kills: { type: 'string' },
      load: { type: 'string' },
      user: { type: 'string' },
      days: { type: 'string' },
      jobs: { type: 'string' },
      'no-shrink': { type: 'boolean', default: false },
      minutes: { type: 'string' },
      every: { type: 'string' },
      pace: { type: 'string' },
      target: { type: 'string' },
      runs: { type: 'string' },
      seconds: { type: 'string' },
      save: { type: 'boolean', default: false },
      mutant: { type: 'string' },
      help: { type: 'boolean', default: false },
    },
  })
  const benches = await loadBenches()
  const list = benches.map((bench) => `  ${bench.name.padEnd(16)} ${bench.about}`).join('\n')
  const unknown = positionals.filter((name) => !benches.some((bench) => bench.name === name))
  if (values.help || unknown.length > 0) {
    if (unknown.length > 0)
      console.error(`bench: got ${unknown.join(', ')}, expected one of these:\n${list}`)
    else console.log(`${usage}\n${list}`)
    return unknown.length > 0 ? 2 : 0
  }
  mkdirSync(values.output, { recursive: true })
  await compile()
  const wanted = benches.filter(
    (bench) => positionals.length === 0 || positionals.includes(bench.name),
  )
  for (const bench of wanted) {
    console.log(`\n== ${bench.name}: ${bench.about}\n`)
    await bench.run({
      ladders: values.ladders,
      adverse: values.adverse,
      beside: values.beside,
      seed: Number(values.seed),
      output: values.output,
      quick: !values.full,
      kills: numberOf(values.kills),
      load: numberOf(values.load),
      user: numberOf(values.user),
      days: numberOf(values.days),
      jobs: numberOf(values.jobs),
      shrinks: !values['no-shrink'],
      minutes: numberOf(values.minutes),
      everyS: numberOf(values.every),
      pace: numberOf(values.pace),
      target: values.target,
      runs: numberOf(values.runs),
      seconds: numberOf(values.seconds),
      save: values.save,
      mutant: values.mutant,
    })
  }
  // a benchmark that demands something says so itself
  return Number(process.exitCode ?? 0)
}

const numberOf = (text: string | undefined): number | undefined =>
  text === undefined ? undefined : Number(text)

process.exitCode = await main()
