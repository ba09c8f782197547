// What goes wrong at and after a start, with the program as a process.
import { mkdtempSync, rmSync, writeFileSync } from 'node:fs'
import { createConnection } from 'node:net'
import { tmpdir } from 'node:os'
import { join } from 'node:path'
import { PassThrough } from 'node:stream'
import { afterEach, beforeEach, describe, expect, it } from 'vitest'
import { runCommand as nodeCommand } from '../../src/cli/run/run.js'
import { systemClock } from '../../src/runtime/systemClock.js'
import { virtualClock } from '../../src/runtime/virtualClock.js'
import { openStoreReader } from '../../src/store/readOnly.js'
import { openStore } from '../../src/store/store.js'
import { waitFor } from '../ptt/helperProcess.js'
import { frame } from '../radio/fixtures.js'
import { runCommand } from './commandBench.js'
import { exitOf, modemNodeCall, startModemNode } from './modemNode.js'

let folder: string
const undo: (() => unknown)[] = []
beforeEach(() => {
  folder = mkdtempSync(join(tmpdir(), 'run-faults-'))
})
afterEach(async () => {
  for (const one of undo.splice(0).reverse()) await one()
  rmSync(folder, { recursive: true, force: true })
})

const faultsIn = (file: string): string[] => {
  const reader = openStoreReader(file, () => virtualClock().wallMs())
  const events = reader.events.query({ kinds: ['fault'] })
  reader.close()
  return events.map(({ text }) => text)
}

describe('a fault of the program', () => {
  // as some listener would throw, at the moment that the test says
  const throwOnSignal =
    "data:text/javascript,process.on('SIGUSR2',()=>{throw new Error('from nowhere')})"

  it('is recorded, and the node goes on; again and again, it ends in order', {
    timeout: 60_000,
  }, async () => {
    const node = await startModemNode({ folder, nodeWords: ['--import', throwOnSignal], undo })
    const client = await node.client()
    node.child.kill('SIGUSR2')
    await waitFor(() => (/program is at fault: from nowhere/.test(node.log()) ? true : undefined))
    expect(node.log()).toMatch(/hold .*the program is at fault/)
    await waitFor(() => (/release .*/.test(node.log()) ? true : undefined))
    node.hear(frame('Q4TRL-7', '>still there?'))
    await client.heard(1)
    const faults = (): number => node.log().match(/program is at fault: from nowhere/g)?.length ?? 0
    // five are borne, and the sixth is one too many
    for (let count = 2; count <= 6; count++) {
      node.child.kill('SIGUSR2')
      await waitFor(() => (faults() === count ? true : undefined))
    }
    expect(await exitOf(node.child)).toBe(1)
    expect(node.log()).toMatch(/ridgepost: run: .*one fault of the program after the other/)
    expect(faultsIn(join(folder, 'ridgepost.db'))[0]).toMatch(/at fault: from nowhere \(at /)
  })
})

describe('a start that fails half-way', () => {
  it('closes everything, and ends with what was thrown', async () => {
    const stderr = new PassThrough()
    let text = ''
    stderr.on('data', (chunk) => {
      text += String(chunk)
    })
    const toml = join(folder, 'node.toml')
    writeFileSync(
      toml,
      `[station]\ncall = "${modemNodeCall}"\n[modem]\nkind = "tcp"\nhost = "127.0.0.1"\nport = 1\n[kiss.tcp]\nport = 0\n`,
    )
    // the last step of all: everything is open by then
    const failing = runCommand(nodeCommand, [toml], {
      clock: systemClock(),
      log: {
        write: (line) => void stderr.write(line),
        flush: async () => {},
        listen: () => {},
        lostCount: 0,
      },
      onStop: () => {
        throw new Error('no signals here')
      },
    })
    await expect(failing).rejects.toThrow('no signals here')
    const port = Number(/KISS over TCP on 127\.0\.0\.1 port (\d+)/.exec(text)?.[1])
    const refused = await new Promise((resolve) => {
      const socket = createConnection(port, '127.0.0.1')
      socket.once('connect', () => resolve('connected')).once('error', (error) => resolve(error))
    })
    expect(refused).toMatchObject({ code: 'ECONNREFUSED' })
    // the database is whole, closed, and says what happened last
    expect(faultsIn(join(folder, 'ridgepost.db'))).toEqual([])
  })
})

describe('starts that fail in a row', () => {
  it('after three the node starts without its past, says so, hears and answers', {
    timeout: 120_000,
  }, async () => {
    const file = join(folder, 'ridgepost.db')
    const store = openStore({ file, clock: systemClock() })
    const wallMs = systemClock().wallMs()
    store.durably('test', () =>
      store.messages.insert({
        kind: 'answer',
        to: 'Q4TRL-7',
        number: '55',
        replyTo: undefined,
        text: 'poison',
        questionId: undefined,
        mailboxId: undefined,
        radio: 0,
        state: 'waiting',
        createdWallMs: wallMs,
        notAfterWallMs: wallMs + 3_600_000,
      }),
    )
    store.close()
    // what was sent before is known: nothing
    writeFileSync(`${file}.airtime-0.json`, JSON.stringify({ spans: [] }))
    const start = () => startModemNode({ folder, undo })
    const sends = (node: Awaited<ReturnType<typeof start>>, text: string) =>
      waitFor(() => (node.sent().includes(text) ? true : undefined))

    for (let times = 0; times < 3; times++) {
      const node = await start()
      // an ordinary start takes it up
      await sends(node, 'poison')
      expect(node.log()).not.toMatch(/SAFE START/)
      node.child.kill('SIGKILL')
      await exitOf(node.child)
    }
    const safe = await start()
    await waitFor(() =>
      /SAFE START after 3 starts that failed/.test(safe.log()) ? true : undefined,
    )
    const client = await safe.client()
    const question = frame('Q5ABC', `:${modemNodeCall.padEnd(9)}:sun{1`)
    safe.hear(question)
    await client.heard(1)
    await sends(safe, ':ack1')
    expect(safe.sent().includes('poison')).toBe(false)
    safe.child.kill('SIGTERM')
    expect(await exitOf(safe.child), safe.log()).toBe(0)
    expect(faultsIn(file).join('\n')).toMatch(/SAFE START/)

    // ended on purpose: the next start is an ordinary one, and the message was not lost
    const last = await start()
    expect(last.log()).not.toMatch(/SAFE START/)
    await sends(last, 'poison')
  })
})
