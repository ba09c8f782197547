// A fresh clone to a question that is answered: one command, as README gives it, with the time of each step.
import { spawn, spawnSync } from 'node:child_process'
import { mkdtempSync, rmSync } from 'node:fs'
import { tmpdir } from 'node:os'
import { join } from 'node:path'
import { root } from '../tidy/sources.js'
import type { Bench } from './bench.js'
import { pause } from './liveCost.js'

const port = 18_729
/** Longer than it may take on any machine. */
const patienceMs = 900_000

export const bench: Bench = {
  name: 'fresh',
  about: 'how long a fresh clone takes to a question that is typed in the page and answered',
  async run() {
    const folder = mkdtempSync(join(tmpdir(), 'ridgepost-fresh-'))
    const startedMs = performance.now()
    const tell = (what: string): void =>
      console.log(`${((performance.now() - startedMs) / 1000).toFixed(1).padStart(6)} s  ${what}`)
    const clone = join(folder, 'clone')
    const { status, stderr } = spawnSync('git', ['clone', '--quiet', root, clone])
    if (status !== 0) throw new Error(`git clone: ${stderr.toString()}`)
    tell('cloned')
    const demo = spawn('npm', ['run', '--silent', 'demo', '--', '--page', String(port)], {
      ...{ cwd: clone, detached: true, stdio: ['ignore', 'pipe', 'inherit'] },
    })
    try {
      await answered(demo.stdout!, () => demo.exitCode !== null, tell)
    } finally {
      // npm, and what it runs
      if (demo.exitCode === null) process.kill(-demo.pid!, 'SIGTERM')
      await pause(500)
      rmSync(folder, { recursive: true, force: true })
    }
  },
}

async function answered(
  said: NodeJS.ReadableStream,
  hasEnded: () => boolean,
  tell: (what: string) => void,
): Promise<void> {
  let words = ''
  said.on('data', (part: Buffer) => {
    words += part.toString()
  })
  const until = async (isSo: () => boolean | Promise<boolean>): Promise<void> => {
    for (const startedMs = performance.now(); !(await isSo()); await pause(100)) {
      if (hasEnded()) throw new Error('the demonstration ended by itself')
      if (performance.now() - startedMs > patienceMs) throw new Error('it took too long')
    }
  }
  await until(() => words.includes(`:${port}/`))
  tell('installed and built; the page is there')
  const hand = `http://localhost:${port}/api/v1/try`
  const headers = { 'content-type': 'application/json' }
  const body = JSON.stringify({ text: 'clock' })
  const sent = await fetch(`${hand}/messages`, { method: 'POST', headers, body })
  if (!sent.ok) throw new Error(`got ${sent.status}: ${await sent.text()}`)
  tell('a question was typed')
  await until(async () => {
    const { shown } = (await (await fetch(hand)).json()) as { shown: { text: string }[] }
    const isAnswered = shown.some(({ text }) => /UTC/.test(text))
    if (isAnswered) tell(`answered: ${shown.at(-1)!.text}`)
    return isAnswered
  })
}
