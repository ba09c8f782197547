import { execFileSync, spawnSync } from 'node:child_process'
import { closeSync, mkdtempSync, openSync, rmSync, writeFileSync } from 'node:fs'
import { tmpdir } from 'node:os'
import { join } from 'node:path'
import { describe, expect, it } from 'vitest'
import { steadyCapture } from '../../src/capture/steadyCapture.js'
import { openSteadyCapture } from '../../src/cli/run/captureFile.js'
import { seededRandom } from '../../src/runtime/random.js'
import { frame } from '../radio/fixtures.js'

/** A disk whose room the test decides about. */
function bench() {
  const chunks: Buffer[] = []
  const disk = { room: Number.POSITIVE_INFINITY }
  const told: string[] = []
  const capture = steadyCapture({
    writeSome(octets) {
      const count = Math.min(disk.room, octets.length)
      if (count === 0) throw Object.assign(new Error('no space'), { code: 'ENOSPC' })
      disk.room -= count
      chunks.push(Buffer.from(octets.subarray(0, count)))
      return count
    },
    close: () => {},
    onTrouble: (text) => told.push(text),
  })
  return { capture, disk, told, file: () => Buffer.concat(chunks) }
}

/** The payloads of a capture, read by the format's own lengths; throws where they do not lead to the end. */
function payloads(file: Buffer): string[] {
  const found: string[] = []
  let at = 24
  while (at < file.length) {
    const length = file.readUInt32LE(at + 8)
    const octets = file.subarray(at + 16, at + 16 + length)
    if (octets.length < length) throw new Error(`a record is cut at ${at}`)
    found.push(octets.subarray(17).toString('latin1'))
    at += 16 + length
  }
  return found
}

const octets = (text: string): Uint8Array => frame('Q4TRL-7', text)

describe('a capture beside a node', () => {
  it('loses whole records while there is no room, says so once, and goes on as a sound capture', () => {
    const { capture, disk, told, file } = bench()
    capture.write(octets('>one'), 1000, 0)
    disk.room = 0
    capture.write(octets('>two'), 2000, 0)
    capture.write(octets('>three'), 3000, 0)
    expect(told).toEqual(['frames are not captured: the disk is full; they are when there is room'])
    disk.room = Number.POSITIVE_INFINITY
    capture.write(octets('>four'), 4000, 20)
    expect(told).toHaveLength(2)
    expect(told[1]).toBe('frames are captured again; 2 were not')
    expect(payloads(file())).toEqual(['>one', '>four'])
    expect(capture.lostCount).toBe(2)
  })

  it('wherever the room ends, in the header or in a record, every record of the file is whole', () => {
    const random = seededRandom(7)
    for (let round = 0; round < 2000; round++) {
      const { capture, disk, file } = bench()
      const written = 20
      for (let count = 0; count < written; count++) {
        disk.room = random() < 0.5 ? Math.floor(random() * 60) : Number.POSITIVE_INFINITY
        capture.write(octets(`>${count}`), count, 0)
      }
      disk.room = Number.POSITIVE_INFINITY
      capture.write(octets('>last'), 99, 0)
      const found = payloads(file())
      expect(found.at(-1)).toBe('>last')
      expect(found.length + capture.lostCount).toBe(written + 1)
    }
  })

  it('with no room for its header at first, it begins when there is', () => {
    const file: Buffer[] = []
    let room = false
    const capture = steadyCapture({
      writeSome(chunk) {
        if (!room) throw Object.assign(new Error('no space'), { code: 'ENOSPC' })
        file.push(Buffer.from(chunk))
        return chunk.length
      },
      close: () => {},
      onTrouble: () => {},
    })
    capture.write(octets('>one'), 0, 0)
    room = true
    capture.write(octets('>two'), 0, 0)
    expect(payloads(Buffer.concat(file))).toEqual(['>two'])
  })

  it('the real device that is always full', () => {
    const told: string[] = []
    const capture = openSteadyCapture('/dev/full', (text) => told.push(text))
    capture.write(octets('>one'), 0, 0)
    capture.write(octets('>two'), 0, 0)
    expect(told).toHaveLength(2)
    expect(told[1]).toMatch(/^\/dev\/full: frames are not captured: the disk is full/)
    expect(capture.lostCount).toBe(2)
    capture.close()
  })

  it('a pipe whose reader does not read keeps nobody waiting, and stays sound', () => {
    const folder = mkdtempSync(join(tmpdir(), 'capture-'))
    try {
      const pipe = join(folder, 'pipe')
      execFileSync('mkfifo', [pipe])
      const reader = openSync(pipe, 'r+')
      const capture = openSteadyCapture(pipe, () => {})
      for (let count = 0; count < 5000; count++) capture.write(octets(`>${count}`), count, 0)
      expect(capture.lostCount).toBeGreaterThan(100)
      capture.close()
      closeSync(reader)
    } finally {
      rmSync(folder, { recursive: true })
    }
  })

  const analyserAbsent = spawnSync('tshark', ['--version']).error !== undefined
  it.skipIf(analyserAbsent)('tshark reads what was taken up again (tshark)', () => {
    const { capture, disk, file } = bench()
    capture.write(octets('>one'), 1000, 0)
    disk.room = 20
    capture.write(octets('>two'), 2000, 0)
    capture.write(octets('>three'), 2000, 0)
    disk.room = Number.POSITIVE_INFINITY
    capture.write(octets('>four'), 4000, 0)
    const folder = mkdtempSync(join(tmpdir(), 'capture-'))
    try {
      writeFileSync(join(folder, 'c.pcap'), file())
      const words = ['-r', join(folder, 'c.pcap'), '-T', 'fields', '-e', 'frame.time_epoch']
      const lines = execFileSync('tshark', words, {
        encoding: 'utf8',
        stdio: ['ignore', 'pipe', 'ignore'],
      })
      expect(lines.trim().split('\n').map(Number)).toEqual([1, 2, 4])
    } finally {
      rmSync(folder, { recursive: true })
    }
  })
})
