import { spawnSync } from 'node:child_process'
import { existsSync, mkdtempSync, readlinkSync, rmSync, writeFileSync } from 'node:fs'
import { tmpdir } from 'node:os'
import { join } from 'node:path'
import { SerialPort, SerialPortMock } from 'serialport'
import { afterEach, beforeEach, describe, expect, it } from 'vitest'
import type { MakeSerialDevice } from '../../src/devices/serialLine.js'
import { type ClientFrame, createKissHub } from '../../src/kiss/hub.js'
import { startKissLine } from '../../src/kiss/lineEnds.js'
import { pseudoTerminalStream, serialStream } from '../../src/kiss/streams.js'
import { systemClock } from '../../src/runtime/systemClock.js'
import { virtualClock } from '../../src/runtime/virtualClock.js'
import { eventLog, kissOctets } from './plainClient.js'

const open: { close(): unknown }[] = []
afterEach(async () => {
  for (const one of open.splice(0).reverse()) await one.close()
})

const frame = Buffer.from('an invented frame \xc0\xdb', 'latin1')

function hubBench() {
  const sent: ClientFrame[] = []
  const waiting: (() => void)[] = []
  const hub = createKissHub({
    host: {
      radios: [0],
      send: (one) => {
        sent.push(one)
        waiting.shift()?.()
      },
      refuse: () => {},
      malformed: () => {},
      gone: () => {},
      setParameters: () => true,
    },
    receiveOnly: false,
    parametersAllowed: true,
  })
  const nextSent = () => new Promise<void>((resolve) => void waiting.push(resolve))
  return { hub, sent, nextSent }
}

describe("KISS on a serial line (the serialport package's own mock binding under its real stream)", () => {
  const device = '/dev/ttyMOCK0'
  beforeEach(() => SerialPortMock.binding.reset())

  const openMock: MakeSerialDevice = ({ device: path, bitRate }) => {
    const line = new SerialPortMock({ path, baudRate: bitRate, autoOpen: false })
    lines.push(line)
    return line
  }
  const lines: SerialPortMock[] = []

  it('a line that floods loses what is too much, and its next whole frame comes through', async () => {
    SerialPortMock.binding.createPort(device, { record: true })
    const { hub, sent } = hubBench()
    const events = eventLog()
    const clock = virtualClock()
    const line = startKissLine({
      hub,
      clock,
      name: `serial ${device}`,
      open: (handlers) => {
        queueMicrotask(() => {
          handlers.onOpen()
          const chunk = Buffer.concat(Array.from({ length: 1000 }, () => kissOctets(0x00, frame)))
          for (let count = 0; count < 20; count++) handlers.onOctets(chunk)
          clock.advanceBy(10_000)
          // the end of a frame whose beginning was lost, then a whole one
          handlers.onOctets(
            Buffer.concat([Buffer.from('lost\xc0', 'latin1'), kissOctets(0, frame)]),
          )
        })
        return { write: () => {}, waitingOctets: () => 0, close: () => {} }
      },
      delayMs: 1000,
      delayMsMax: 8000,
      onEvent: events.add,
    })
    open.push(line)
    await events.next(/more octets than any channel/)
    await Promise.resolve()
    expect(hub.counters.floodedOctets).toBeGreaterThan(300_000)
    expect(sent.length).toBeLessThan(4000)
    expect(sent.every(({ octets }) => Buffer.from(octets).equals(frame))).toBe(true)
    expect(hub.counters).toMatchObject({ framesIn: sent.length, malformed: 1 })
  })

  it('frames go both ways; a device that vanishes is opened anew', async () => {
    SerialPortMock.binding.createPort(device, { record: true })
    const { hub, sent, nextSent } = hubBench()
    const events = eventLog()
    const clock = virtualClock()
    const line = startKissLine({
      hub,
      clock,
      name: `serial ${device}`,
      open: serialStream({ device, bitRate: 19_200 }, openMock),
      delayMs: 1000,
      delayMsMax: 8000,
      onEvent: events.add,
    })
    open.push(line)
    await events.next(/open/)
    const heardHere = nextSent()
    lines.at(-1)!.port!.emitData(kissOctets(0x00, frame))
    await heardHere
    expect(Buffer.from(sent[0]!.octets)).toEqual(frame)
    hub.heard(0, frame)
    await new Promise<void>((resolve) => lines.at(-1)!.drain(() => resolve()))
    expect(lines.at(-1)!.port!.recording).toEqual(kissOctets(0x00, frame))

    // unplugged: the stream ends with an error, and the device cannot be opened
    const gone = events.next(/closed/)
    lines.at(-1)!.close()
    SerialPortMock.binding.reset()
    await gone
    expect(hub.clients).toEqual([])
    const refused = events.next(/closed: .*(port|exist)/i)
    clock.advanceBy(1000)
    await refused
    expect(line.counters).toEqual({ opened: 1, failed: 1, lost: 1 })
    SerialPortMock.binding.createPort(device)
    const again = events.next(/open/)
    clock.advanceBy(2000)
    await again
    expect(hub.clients).toEqual([`serial ${device}`])
  })
})

const socat = spawnSync('socat', ['-V']).status === 0
// 'socat', a general-purpose relay program, makes the pseudo-terminal: without it there is nothing to test
describe.skipIf(!socat)('KISS on a pseudo-terminal, for real', () => {
  let folder: string
  beforeEach(() => {
    folder = mkdtempSync(join(tmpdir(), 'ridgepost-'))
  })
  afterEach(() => rmSync(folder, { recursive: true, force: true }))

  const start = (path: string) => {
    const { hub, sent, nextSent } = hubBench()
    const events = eventLog()
    const end = startKissLine({
      hub,
      clock: systemClock(),
      name: `terminal ${path}`,
      open: pseudoTerminalStream({ path }),
      soundMs: 0,
      delayMs: 20,
      delayMsMax: 1000,
      onEvent: events.add,
    })
    open.push(end)
    return { hub, sent, nextSent, events, end }
  }

  const linkThere = async (path: string): Promise<void> => {
    for (let turn = 0; !existsSync(path) && turn < 2000; turn++)
      await new Promise((resolve) => setTimeout(resolve, 5))
  }

  it('another program uses it as a serial device, leaves and comes back', async () => {
    const path = join(folder, 'kiss')
    const { hub, sent, nextSent, events } = start(path)
    for (const round of [0, 1]) {
      await linkThere(path)
      expect(readlinkSync(path)).toMatch(/^\/dev\//)
      // heard before anybody opened it: must not be kept for a later program
      hub.heard(0, Buffer.from('stale'))
      const opened = events.next(/open$/)
      const program = new SerialPort({ path, baudRate: 9600 })
      await opened
      const arrived = new Promise<Buffer>((resolve) => {
        let all = Buffer.alloc(0)
        program.on('data', (chunk: Buffer) => {
          all = Buffer.concat([all, chunk])
          if (all.length > 1 && all.at(-1) === 0xc0) resolve(all)
        })
      })
      hub.heard(0, frame)
      expect(await arrived).toEqual(kissOctets(0x00, frame))
      const passedOn = nextSent()
      program.write(kissOctets(0x00, frame))
      await passedOn
      expect(Buffer.from(sent[round]!.octets)).toEqual(frame)
      const closed = events.next(/closed/)
      program.close()
      expect(await closed).toMatch(/the program closed it/)
    }
  })

  it('never replaces a file that is no link', async () => {
    const path = join(folder, 'notes.txt')
    writeFileSync(path, 'keep me')
    const { events } = start(path)
    expect(await events.next(/closed/)).toMatch(/no symbolic link: move it away/)
  })

  it('says when the relay program is not installed', async () => {
    const events = eventLog()
    const end = startKissLine({
      ...hubBench(),
      clock: virtualClock(),
      name: 'terminal',
      open: pseudoTerminalStream({ path: join(folder, 'kiss'), socat: 'no-such-program' }),
      delayMs: 20,
      delayMsMax: 1000,
      onEvent: events.add,
    })
    open.push(end)
    expect(await events.next(/closed/)).toBe(
      'KISS on terminal: closed: no-such-program is not installed: install it, or remove kiss.pseudoTerminals',
    )
  })
})
