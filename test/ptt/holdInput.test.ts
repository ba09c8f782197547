import { mkdtempSync, rmSync, writeFileSync } from 'node:fs'
import { tmpdir } from 'node:os'
import { join } from 'node:path'
import { SerialPortMock } from 'serialport'
import { afterEach, beforeEach, describe, expect, it, vi } from 'vitest'
import { createHoldInput, type HoldInputOptions } from '../../src/ptt/holdInput.js'
import { systemClock } from '../../src/runtime/systemClock.js'

const clock = systemClock()
const options: HoldInputOptions = {
  ...{ kind: 'command', device: '', activeLow: false, command: [], intervalMs: 500 },
}
let folder: string
const path = process.env.PATH
beforeEach(() => {
  folder = mkdtempSync(join(tmpdir(), 'ridgepost-hold-'))
})
afterEach(() => {
  process.env.PATH = path
  vi.restoreAllMocks()
  rmSync(folder, { recursive: true })
})

function script(name: string, ...lines: string[]): string {
  const file = join(folder, name)
  writeFileSync(file, ['#!/bin/sh', ...lines, ''].join('\n'), { mode: 0o755 })
  return file
}

describe('hold input', () => {
  it('none is none', () => {
    expect(createHoldInput({ ...options, kind: 'none' }, clock)).toBeUndefined()
  })

  it('command: status 0 is on, 1 is off, anything else cannot be read', async () => {
    const program = script('read', 'exit $1')
    const read = (status: string): Promise<boolean> =>
      createHoldInput({ ...options, command: [program, status] }, clock)!.read()
    expect(await read('0')).toBe(true)
    expect(await read('1')).toBe(false)
    await expect(read('2')).rejects.toThrow(`${program} 2: got status 2`)
  })

  it.each([
    { version: '1.6.3', words: 'gpiochip0 22' },
    { version: '2.2.1', words: '--numeric --chip gpiochip0 22' },
  ])('GPIO: as the tools of version $version want to be called', async ({ version, words }) => {
    script('gpioset', `echo "gpioset (libgpiod) v${version}"`)
    script('gpioget', `[ "$*" = "${words}" ] && echo 1 && exit 0`, 'exit 1')
    process.env.PATH = `${folder}:${path}`
    const gpio = { ...options, kind: 'gpio', device: 'gpiochip0', line: 22 } as const
    expect(await createHoldInput(gpio, clock)!.read()).toBe(true)
    expect(await createHoldInput({ ...gpio, activeLow: true }, clock)!.read()).toBe(false)
    await expect(createHoldInput({ ...gpio, line: 23 }, clock)!.read()).rejects.toThrow('status 1')
  })

  it("serial: a level of the port, on the library's own stand-in", async () => {
    const { binding } = SerialPortMock
    binding.reset()
    binding.createPort('/dev/switch')
    const open = binding.open.bind(binding)
    vi.spyOn(binding, 'open').mockImplementation(async (openOptions) => {
      const port = await open(openOptions)
      port.get = async () => ({ cts: true, dsr: false, dcd: true })
      return port
    })
    const reads = async (line: 'cts' | 'dsr' | 'dcd', activeLow: boolean): Promise<boolean> => {
      const serial = { ...options, kind: 'serial', device: '/dev/switch', line, activeLow } as const
      const input = createHoldInput(
        serial,
        clock,
        ({ device, bitRate }) =>
          new SerialPortMock({ path: device, baudRate: bitRate, autoOpen: false }),
      )!
      const on = await input.read()
      expect(await input.read()).toBe(on)
      await input.close()
      return on
    }
    expect(await reads('cts', false)).toBe(true)
    expect(await reads('dsr', false)).toBe(false)
    expect(await reads('dcd', true)).toBe(false)
  })

  it('serial: a port that is missing cannot be read, and is looked for again', async () => {
    const { binding } = SerialPortMock
    binding.reset()
    const serial = { ...options, kind: 'serial', device: '/dev/switch', line: 'cts' } as const
    const input = createHoldInput(
      serial,
      clock,
      ({ device, bitRate }) =>
        new SerialPortMock({ path: device, baudRate: bitRate, autoOpen: false }),
    )!
    await expect(input.read()).rejects.toThrow()
    binding.createPort('/dev/switch')
    // the stand-in's CTS is on
    expect(await input.read()).toBe(true)
    await input.close()
  })
})
