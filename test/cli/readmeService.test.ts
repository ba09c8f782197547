// README's page 'A service of your own', followed to the letter.
import { mkdirSync, mkdtempSync, readFileSync, rmSync, writeFileSync } from 'node:fs'
import { tmpdir } from 'node:os'
import { join } from 'node:path'
import { PassThrough } from 'node:stream'
import { afterEach, beforeEach, expect, it } from 'vitest'
import { askCommand } from '../../src/cli/ask/ask.js'
import { virtualClock } from '../../src/runtime/virtualClock.js'
import { root } from '../tidy/sources.js'
import { runCommand } from './commandBench.js'

let folder: string
beforeEach(() => {
  folder = mkdtempSync(join(tmpdir(), 'ridgepost-'))
})
afterEach(() => rmSync(folder, { recursive: true }))

it("README's own service answers to its keyword, and to its synonym", async () => {
  const page = readFileSync(join(root, 'README.md'), 'utf8').split('## A service of your own')[1]!
  const [, code = ''] = /```js\n([\s\S]*?)```/.exec(page)!
  mkdirSync(join(folder, 'services'))
  writeFileSync(join(folder, 'services', 'checkin.mjs'), code)
  writeFileSync(
    join(folder, 'node.toml'),
    '[station]\ncall = "N0CALL-10"\n[services.own]\nfolder = "services"\n',
  )
  const stdin = new PassThrough()
  stdin.end('check-in who\ncheck-in\npresent\ncheck in who\n')
  const { stdout } = await runCommand(
    askCommand,
    ['--config', join(folder, 'node.toml'), '--from', 'Q1KIT'],
    { clock: virtualClock(Date.UTC(2026, 5, 21, 16)), stdin },
  )
  const answers = stdout.split('\n').filter((line) => /\/67/.test(line))
  expect(answers.map((line) => line.replace(/^ +\d+\/67 +/, ''))).toEqual([
    'Nobody yet.',
    'You are on the list with 0 others. 73',
    'You are on the list with 0 others. 73',
    'Q1KIT',
  ])
})
