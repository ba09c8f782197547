// A node as a process, everything that it writes on a file system of its own, and that full: it goes on hearing and serving
// its clients, and writes again when there is room.
import { execFileSync } from 'node:child_process'
import {
  closeSync,
  mkdirSync,
  mkdtempSync,
  openSync,
  readFileSync,
  rmSync,
  writeSync,
} from 'node:fs'
import { tmpdir } from 'node:os'
import { join } from 'node:path'
import { afterEach, describe, expect, it } from 'vitest'
import { virtualClock } from '../../src/runtime/virtualClock.js'
import { openStoreReader } from '../../src/store/readOnly.js'
import { waitFor } from '../ptt/helperProcess.js'
import { frame } from '../radio/fixtures.js'
import { exitOf, startModemNode } from './modemNode.js'

const sizeKb = 16_384
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

describe.skipIf(!mayMount)('on a disk that is full (needs root, to mount a small one)', () => {
  it('the node goes on; capture, log and database are taken up again', {
    timeout: 120_000,
  }, async () => {
    const disk = smallDisk()!
    const node = await startModemNode({
      folder: disk,
      toml: '[store]\nflushS = 1\n',
      words: ['--capture', join(disk, 'c.pcap')],
      undo,
    })
    const { child, log } = node
    const client = await node.client()
    const hear = (text: string): void => node.hear(frame('Q4TRL-7', text))
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
    expect(await exitOf(child), log()).toBe(0)

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
