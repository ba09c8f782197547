// A node as a process, everything that it writes on a file system of its own, and that full: it goes on hearing and serving
// its clients, and writes again when there is room.
import { execFileSync, spawn } from 'node:child_process'
import {
  closeSync,
  mkdirSync,
  mkdtempSync,
  openSync,
  readFileSync,
  rmSync,
  writeFileSync,
  writeSync,
} from 'node:fs'
import { createServer, type Socket } from 'node:net'
import { tmpdir } from 'node:os'
import { join } from 'node:path'
import { afterEach, describe, expect, it } from 'vitest'
import { virtualClock } from '../../src/runtime/virtualClock.js'
import { openStoreReader } from '../../src/store/readOnly.js'
import { kissOctets, plainClient } from '../kiss/plainClient.js'
import { compiled, waitFor } from '../ptt/helperProcess.js'
import { frame } from '../radio/fixtures.js'

const sizeKb = 768
const undo: (() => unknown)[] = []
afterEach(async () => {
  for (const one of undo.splice(0).reverse()) await one()
})

/** A small file system, if this user may have one. */
function smallDisk(): string | undefined {
  const folder = mkdtempSync(join(tmpdir(), 'full-disk-'))
  undo.push(() => rmSync(folder, { recursive: true, force: true }))
  const disk = join(folder, 'disk')
  mkdirSync(disk)
  try {
    execFileSync('mount', ['-t', 'tmpfs', '-o', `size=${sizeKb}k`, 'none', disk], {
      stdio: 'ignore',
    })
  } catch {
    return undefined
  }
  undo.push(() => execFileSync('umount', ['-l', disk]))
  return disk
}
const mayMount = smallDisk() !== undefined

/** Takes all room that there is. */
function fill(file: string): void {
  const descriptor = openSync(file, 'w')
  try {
    for (const size of [65_536, 4096, 512, 1])
      for (;;) {
        try {
          writeSync(descriptor, Buffer.alloc(size))
        } catch {
          break
        }
      }
  } finally {
    closeSync(descriptor)
  }
}

async function startNode(disk: string) {
  let modem: Socket | undefined
  const server = createServer((socket) => {
    modem = socket.on('error', () => {})
  })
  await new Promise<void>((resolve) => server.listen(0, '127.0.0.1', resolve))
  undo.push(
    () => new Promise((resolve) => server.close(resolve)),
    () => modem?.destroy(),
  )
  const { port } = server.address() as { port: number }
  writeFileSync(
    join(disk, 'node.toml'),
    `[station]\ncall = "Q7RDG-10"\n[modem]\nkind = "tcp"\nhost = "127.0.0.1"\nport = ${port}\n` +
      `[transmit]\nenabled = true\n[kiss.tcp]\nport = 0\n[store]\nflushS = 1\n[log]\nlevel = "all"\n`,
  )
  const logFile = openSync(join(disk, 'log'), 'w')
  const child = spawn(
    process.execPath,
    [
      compiled('src/cli/main.js'),
      'run',
      join(disk, 'node.toml'),
      '--capture',
      join(disk, 'c.pcap'),
    ],
    { stdio: ['ignore', logFile, logFile] },
  )
  closeSync(logFile)
  undo.push(() => child.kill('SIGKILL'))
  const log = (): string => readFileSync(join(disk, 'log'), 'utf8')
  const kissPort = await waitFor(() => /KISS over TCP on 127\.0\.0\.1 port (\d+)/.exec(log())?.[1])
  const client = await plainClient(Number(kissPort))
  undo.push(() => client.close())
  await waitFor(() => /KISS client .* connected/.exec(log()) ?? undefined)
  const radio = await waitFor(() => modem)
  const hear = (text: string): void => void radio.write(kissOctets(0x00, frame('Q4TRL-7', text)))
  return { child, log, client, hear }
}

describe.skipIf(!mayMount)('on a disk that is full (needs root, to mount a small one)', () => {
  it('the node goes on; capture, log and database are taken up again', {
    timeout: 120_000,
  }, async () => {
    const disk = smallDisk()!
    const { child, log, client, hear } = await startNode(disk)
    hear('>before')
    await client.heard(1)
    fill(join(disk, 'filler'))
    for (let count = 0; count < 40; count++) {
      hear(`>without room ${count} ${'x'.repeat(200)}`)
      await client.heard(2 + count)
    }
    client.send(0x00, frame('Q7RDG-1', '>from a client without room'))
    expect(child.exitCode).toBeNull()

    rmSync(join(disk, 'filler'))
    const capture = (): string => readFileSync(join(disk, 'c.pcap'), 'latin1')
    let count = 0
    await waitFor(() => {
      hear(`>room again ${count++}`)
      return capture().includes('>room again') && /of this log were lost/.test(log())
        ? true
        : undefined
    })
    expect(log()).toMatch(/frames are captured again; \d+ were not/)
    child.kill('SIGTERM')
    const exitCode = await new Promise((resolve) => child.once('exit', resolve))
    expect(exitCode, log()).toBe(0)

    const reader = openStoreReader(join(disk, 'ridgepost.db'), () => virtualClock().wallMs())
    const events = reader.events.query()
    reader.close()
    expect(events.some(({ text }) => text.includes('room again'))).toBe(true)
    expect(events.filter(({ kind }) => kind === 'fault').map(({ text }) => text)).toEqual(
      expect.arrayContaining([
        expect.stringMatching(/the log cannot be written: the disk is full/),
        expect.stringMatching(/frames are not captured: the disk is full/),
      ]),
    )
  })
})
