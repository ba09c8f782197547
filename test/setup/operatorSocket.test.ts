import { chmodSync, linkSync, mkdtempSync, rmSync, statSync, writeFileSync } from 'node:fs'
import { connect } from 'node:net'
import { tmpdir } from 'node:os'
import { join } from 'node:path'
import { afterEach, beforeEach, describe, expect, it } from 'vitest'
import { systemClock } from '../../src/runtime/systemClock.js'
import {
  askRunningNode,
  type OperatorSocket,
  openOperatorSocket,
} from '../../src/setup/operatorSocket.js'

const clock = systemClock()
let folder: string
let path: string
let socket: OperatorSocket | undefined
beforeEach(() => {
  folder = mkdtempSync(join(tmpdir(), 'ridgepost-op-'))
  path = join(folder, 'operator')
})
afterEach(async () => {
  await socket?.close()
  socket = undefined
  rmSync(folder, { recursive: true, force: true })
})

const request = { command: 'hold', words: ['30m'], who: 'q1abc' } as const

/** What comes back for these octets. */
const raw = (text: string): Promise<string> =>
  new Promise((resolve) => {
    const client = connect(path)
    let answer = ''
    client.on('data', (part) => {
      answer += String(part)
    })
    client.on('error', () => {})
    client.on('close', () => resolve(answer))
    client.write(text)
  })

describe("the operator's socket", () => {
  it('gives a request to the node and its answer back, for its owner and its group only', async () => {
    const asked: unknown[] = []
    socket = await openOperatorSocket(path, clock, (one) => {
      asked.push(one)
      return { ok: true, lines: ['Nothing is sent for 30m.'] }
    })
    expect(statSync(path).mode & 0o777).toBe(0o660)
    const reply = await askRunningNode(path, clock, { ...request, words: ['30m'] })
    expect(reply).toEqual({ ok: true, lines: ['Nothing is sent for 30m.'] })
    expect(asked).toEqual([request])
  })

  it('what is not a request does nothing, whatever its size, and the next one is answered', async () => {
    let count = 0
    socket = await openOperatorSocket(path, clock, () => {
      count++
      return { ok: true, lines: [] }
    })
    for (const text of [
      '\n',
      'hold\n',
      '{"command":"burn"}\n',
      '{"command":"hold","more":1}\n',
      '{"command":"say","words":["a","b","c","d"]}\n',
      `${'x'.repeat(5000)}`,
      '[]\n',
    ])
      expect(await raw(text)).toMatch(/not a request|It failed/)
    expect(count).toBe(0)
    await raw(`${JSON.stringify(request)}\n`)
    expect(count).toBe(1)
  })

  it('a node that fails at it says so and goes on', async () => {
    socket = await openOperatorSocket(path, clock, () => {
      throw new Error('the database is away')
    })
    expect((await askRunningNode(path, clock, { ...request, words: [] })).lines[0]).toBe(
      'It failed: the database is away',
    )
  })

  it('takes away what a process that died left, and nothing else', async () => {
    // a socket at which nobody listens any more
    const dead = await openOperatorSocket(path, clock, () => ({ ok: true, lines: [] }))
    const stays = join(folder, 'link')
    linkSync(path, stays)
    await dead.close()
    linkSync(stays, path)
    socket = await openOperatorSocket(path, clock, () => ({ ok: true, lines: ['new'] }))
    expect((await askRunningNode(path, clock, { ...request, words: [] })).lines).toEqual(['new'])
    await expect(openOperatorSocket(path, clock, () => ({ ok: true, lines: [] }))).rejects.toThrow(
      /another process listens there/,
    )
    const file = join(folder, 'a file')
    writeFileSync(file, 'precious')
    await expect(openOperatorSocket(file, clock, () => ({ ok: true, lines: [] }))).rejects.toThrow(
      /not a socket stands there/,
    )
  })

  it('says in words why nobody answers', async () => {
    await expect(askRunningNode(path, clock, { ...request, words: [] })).rejects.toThrow(
      /no socket of this name.*is `ridgepost run` running/,
    )
  })

  it.skipIf(process.getuid?.() === 0)('a folder that may not be written to is named', async () => {
    chmodSync(folder, 0o500)
    await expect(openOperatorSocket(path, clock, () => ({ ok: true, lines: [] }))).rejects.toThrow(
      /operator\.socket/,
    )
    chmodSync(folder, 0o700)
  })
})
