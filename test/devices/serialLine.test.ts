import { spawn, spawnSync } from 'node:child_process'
import { existsSync, mkdtempSync, rmSync } from 'node:fs'
import { tmpdir } from 'node:os'
import { join } from 'node:path'
import { SerialPortMock } from 'serialport'
import { beforeEach, describe, expect, it, vi } from 'vitest'
import { type MakeSerialDevice, openSerialLine } from '../../src/devices/serialLine.js'
import { readSerialLines } from '../../src/devices/serialReader.js'
import { virtualClock } from '../../src/runtime/virtualClock.js'

const device = '/dev/ttyMOCK1'
const made: SerialPortMock[] = []
/** The serialport package's own mock binding under its real stream. */
const make: MakeSerialDevice = ({ device: path, bitRate }) => {
  const port = new SerialPortMock({ path, baudRate: bitRate, autoOpen: false })
  made.push(port)
  return port
}
beforeEach(() => {
  made.length = 0
  SerialPortMock.binding.reset()
})

describe('a serial line', () => {
  const open = () => {
    const events: string[] = []
    const line = openSerialLine(
      { device, bitRate: 9600 },
      {
        onOpen: () => events.push('open'),
        onOctets: (chunk) => events.push(chunk.toString('latin1')),
        onClosed: (reason) => events.push(`closed: ${reason}`),
      },
      make,
    )
    return { events, line }
  }

  it('ends once when it is not there', async () => {
    const { events, line } = open()
    await vi.waitFor(() => expect(events).toHaveLength(1))
    await line.close()
    expect(events).toEqual([expect.stringMatching(/^closed: /)])
  })

  it('reads and writes until it is closed', async () => {
    SerialPortMock.binding.createPort(device, { record: true })
    const { events, line } = open()
    await vi.waitFor(() => expect(events).toEqual(['open']))
    made[0]!.port!.emitData(Buffer.from('heard'))
    line.write(Buffer.from('said'))
    await vi.waitFor(() => expect(events).toEqual(['open', 'heard']))
    await new Promise<void>((resolve) => made[0]!.drain(() => resolve()))
    expect(made[0]!.port!.recording.toString()).toBe('said')
    await line.close()
    await line.close()
    expect(events).toEqual(['open', 'heard', 'closed: the line was closed'])
    expect(made[0]!.isOpen).toBe(false)
  })

  it('closed while it opens is closed, and was never open', async () => {
    SerialPortMock.binding.createPort(device)
    const { events, line } = open()
    await line.close()
    await vi.waitFor(() => expect(made[0]!.isOpen).toBe(false))
    expect(events).not.toContain('open')
    // the device is free for the next one
    const next = open()
    await vi.waitFor(() => expect(next.events).toEqual(['open']))
    await next.line.close()
  })

  it('unplugged: it says so once', async () => {
    SerialPortMock.binding.createPort(device)
    const { events } = open()
    await vi.waitFor(() => expect(events).toEqual(['open']))
    made[0]!.emit('error', new Error('first'))
    made[0]!.emit('close', new Error('second'))
    await vi.waitFor(() => expect(made[0]!.isOpen).toBe(false))
    expect(events).toEqual(['open', 'closed: first'])
  })
})

describe('lines of a device that speaks by itself', () => {
  it('come whole, however they were cut; a line without an end is bounded', async () => {
    SerialPortMock.binding.createPort(device)
    const clock = virtualClock()
    const lines: string[] = []
    const lost: string[] = []
    const close = readSerialLines({
      ...{ device, bitRate: 9600, clock, waits: { first: 1000, longest: 1000 }, make },
      onLine: (text) => lines.push(text),
      onLost: (reason) => lost.push(reason),
    })
    await vi.waitFor(() => expect(made[0]!.isOpen).toBe(true))
    const { port } = made[0]!
    for (const part of ['on', 'e\ntw', 'o\n', 'x'.repeat(5000), 'y\n'])
      port!.emitData(Buffer.from(part))
    await vi.waitFor(() => expect(lines).toHaveLength(3))
    expect(lines.slice(0, 2)).toEqual(['one', 'two'])
    expect(lines[2]!.length).toBe(1000)
    // unplugged with half a line: the half is not joined to what comes later
    port!.emitData(Buffer.from('hal'))
    await new Promise<void>((resolve) => made[0]!.close(() => resolve()))
    await vi.waitFor(() => expect(lost).toHaveLength(1))
    clock.advanceBy(1000)
    await vi.waitFor(() => expect(made[1]!.isOpen).toBe(true))
    made[1]!.port!.emitData(Buffer.from('f\n'))
    await vi.waitFor(() => expect(lines.at(-1)).toBe('f'))
    await close()
    clock.advanceBy(60_000)
    expect(made).toHaveLength(2)
    expect(lost).toHaveLength(1)
  })
})

const hasSocat = spawnSync('socat', ['-V']).status === 0

describe.skipIf(!hasSocat)(
  'a real line (a pseudo-terminal by socat; skipped without socat)',
  () => {
    const patience = { timeout: 60_000, interval: 5 }

    it('ends when the device goes, also while octets come', async () => {
      const folder = mkdtempSync(join(tmpdir(), 'line-'))
      for (let round = 0; round < 12; round++) {
        const path = join(folder, `tty${round}`)
        const far = spawn('socat', ['-', `pty,raw,echo=0,link=${path}`])
        far.stdin.on('error', () => {})
        await vi.waitFor(() => expect(existsSync(path)).toBe(true), patience)
        const closed: string[] = []
        let heard = false
        openSerialLine(
          { device: path, bitRate: 4800 },
          {
            onOpen: () => {},
            onOctets: () => {
              // In every second round while the line has just been read.
              if (round % 2 === 0) far.kill()
              heard = true
            },
            onClosed: (reason) => closed.push(reason),
          },
        )
        await vi.waitFor(() => {
          if (!heard) far.stdin.write('12.5')
          expect(heard).toBe(true)
        }, patience)
        far.kill()
        await vi.waitFor(() => expect(closed).toHaveLength(1), patience)
      }
      rmSync(folder, { recursive: true })
    }, 300_000)
  },
)
