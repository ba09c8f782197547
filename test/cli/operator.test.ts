// The commands against a running node: a process, an external modem that the test plays.
import { mkdtempSync, rmSync, writeFileSync } from 'node:fs'
import { tmpdir } from 'node:os'
import { join } from 'node:path'
import type { Command } from 'commander'
import { afterEach, beforeEach, describe, expect, it } from 'vitest'
import { logCommand } from '../../src/cli/log/log.js'
import {
  beaconCommand,
  holdCommand,
  releaseCommand,
  sayCommand,
  stateCommand,
} from '../../src/cli/operator/operator.js'
import type { Edges } from '../../src/devices/edges.js'
import { systemClock } from '../../src/runtime/systemClock.js'
import { waitFor } from '../ptt/helperProcess.js'
import { runCommand } from './commandBench.js'
import { exitOf, startModemNode } from './modemNode.js'

let folder: string
let undo: (() => unknown)[]
beforeEach(() => {
  folder = mkdtempSync(join(tmpdir(), 'ridgepost-operator-'))
  undo = []
})
afterEach(async () => {
  for (const step of undo.reverse()) await step()
  rmSync(folder, { recursive: true, force: true })
})

const toml = '[operator]\nsocket = "operator"\n[store]\nfile = "node.db"\nflushS = 1\n'
const start = () => startModemNode({ folder, toml, undo })
const run = (command: (edges: Edges) => Command, ...words: string[]) =>
  runCommand(command, [...words, '--config', join(folder, 'node.toml')], { clock: systemClock() })

describe('the operator at a running node', () => {
  it('holds it over a restart, sees that, releases it, and says something', async () => {
    const first = await start()
    expect(await run(holdCommand, 'soon')).toMatchObject({ exitCode: 1 })
    const held = await run(holdCommand)
    expect(held.stdout).toBe('Nothing is sent until it is released; a restart does not end it.\n')
    expect((await run(stateCommand)).stdout).toMatch(/not sending: .*by /)
    expect((await run(sayCommand, 'Q1ABC-7', 'are', 'you', 'there?')).stdout).toMatch(
      /^Queued as M1/,
    )
    first.child.kill('SIGTERM')
    await exitOf(first.child)

    const second = await start()
    expect((await run(stateCommand)).stdout).toMatch(/not sending: .*by /)
    expect(second.sent().includes('are you there?')).toBe(false)
    expect((await run(releaseCommand)).stdout).toMatch(/^The operator's hold is released/)
    await waitFor(() => (second.sent().includes('are you there?') ? true : undefined))
    expect((await run(beaconCommand, 'status')).exitCode).toBe(0)
    expect((await run(beaconCommand, 'lamp')).stderr).toMatch(/There is no beacon "lamp"/)
    expect((await run(sayCommand, 'no call', 'x')).stderr).toMatch(/^Not sent: /)
    expect((await run(holdCommand, '30m')).stdout).toMatch(/for 30m/)
    second.child.kill('SIGTERM')
    await exitOf(second.child)

    const log = await runCommand(
      logCommand,
      ['--database', join(folder, 'node.db'), '--kind', 'control'],
      { clock: systemClock() },
    )
    for (const words of [
      /hold until it is released .*at the terminal, /,
      /release/,
      /message to Q1ABC-7/,
    ])
      expect(log.stdout).toMatch(words)
  }, 60_000)

  it('without a socket in the configuration it is said what to add', async () => {
    writeFileSync(join(folder, 'node.toml'), '[station]\ncall = "Q1ABC"\n')
    const none = await run(stateCommand)
    expect(none.stderr).toMatch(/no operator\.socket.*add \[operator\] socket = /)
    expect(none.exitCode).toBe(1)
  })
})
