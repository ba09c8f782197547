import { execFileSync, spawn } from 'node:child_process'
import { existsSync, mkdtempSync, readdirSync, readFileSync, rmSync, writeFileSync } from 'node:fs'
import { tmpdir } from 'node:os'
import { join } from 'node:path'
import { SerialPortMock } from 'serialport'
import { afterEach, beforeEach, describe, expect, it, vi } from 'vitest'
import type { MakeSerialDevice } from '../../src/devices/serialLine.js'
import { openCommandOutput } from '../../src/ptt/commandOutput.js'
import { openGpioOutput } from '../../src/ptt/gpioOutput.js'
import { openHidOutput } from '../../src/ptt/hidOutput.js'
import { openSerialOutput } from '../../src/ptt/serialOutput.js'
import type { Clock } from '../../src/runtime/clock.js'
import { systemClock } from '../../src/runtime/systemClock.js'
import { compiled, waitFor } from './helperProcess.js'

const clock = systemClock()
let folder: string
beforeEach(() => {
  folder = mkdtempSync(join(tmpdir(), 'ridgepost-ptt-'))
})
afterEach(() => {
  vi.restoreAllMocks()
  rmSync(folder, { recursive: true })
})

const isThere = (program: string): boolean => {
  try {
    execFileSync('which', [program])
    return true
  } catch {
    return false
  }
}

describe("serial output, on the library's own stand-in for a port", () => {
  const openPort: MakeSerialDevice = ({ device, bitRate }) =>
    new SerialPortMock({ path: device, baudRate: bitRate, autoOpen: false })
  const lines: { rts: boolean; dtr: boolean }[] = []
  beforeEach(() => {
    lines.length = 0
    const { binding } = SerialPortMock
    binding.reset()
    binding.createPort('/dev/line')
    const open = binding.open.bind(binding)
    vi.spyOn(binding, 'open').mockImplementation(async (options) => {
      const port = await open(options)
      const set = port.set.bind(port)
      port.set = (levels) => {
        lines.push({ rts: levels.rts ?? true, dtr: levels.dtr ?? true })
        return set(levels)
      }
      return port
    })
  })

  it.each([
    {
      line: 'rts',
      activeLow: false,
      off: { rts: false, dtr: false },
      on: { rts: true, dtr: false },
    },
    {
      line: 'dtr',
      activeLow: false,
      off: { rts: false, dtr: false },
      on: { rts: false, dtr: true },
    },
    {
      line: 'both',
      activeLow: false,
      off: { rts: false, dtr: false },
      on: { rts: true, dtr: true },
    },
    {
      line: 'rts',
      activeLow: true,
      off: { rts: true, dtr: false },
      on: { rts: false, dtr: false },
    },
    {
      line: 'dtr',
      activeLow: true,
      off: { rts: false, dtr: true },
      on: { rts: false, dtr: false },
    },
  ] as const)('$line, active low $activeLow', async ({ line, activeLow, off, on }) => {
    const output = await openSerialOutput({ device: '/dev/line', line, activeLow }, openPort)
    expect(lines).toEqual([off])
    await output.key()
    await output.unkey()
    await output.close()
    expect(lines).toEqual([off, on, off, off])
  })

  it('names a port that is not there', async () => {
    await expect(
      openSerialOutput({ device: '/dev/nothing', line: 'rts', activeLow: false }, openPort),
    ).rejects.toThrow(/^\/dev\/nothing: got .*; check ptt.device/)
  })
})

describe.skipIf(!isThere('socat'))('serial output, on a pseudo-terminal (needs socat)', () => {
  it('opens the real port, and says that a pseudo-terminal has no such lines', async () => {
    const device = join(folder, 'line')
    const socat = spawn('socat', [`pty,raw,echo=0,link=${device}`, 'pty,raw,echo=0'])
    try {
      await waitFor(() => existsSync(device) || undefined)
      await expect(openSerialOutput({ device, line: 'rts', activeLow: false })).rejects.toThrow(
        /\(set the line\), expected a serial port with RTS and DTR lines/,
      )
    } finally {
      socat.kill()
    }
  })
})

describe('HID output, on files that stand for devices', () => {
  const reports = (file: string): string[] =>
    readFileSync(join(folder, file), 'hex').match(/.{10}/g) ?? []

  it('writes its own device and no other: low first, high, low, low at the end', async () => {
    for (const name of ['hidraw0', 'hidraw1', 'hidraw2']) writeFileSync(join(folder, name), '')
    const output = openHidOutput({ device: join(folder, 'hidraw1'), pin: 3, activeLow: false })
    expect(reports('hidraw1')).toEqual(['0000000400'])
    output.key()
    output.unkey()
    await output.close()
    expect(reports('hidraw1')).toEqual(['0000000400', '0000040400', '0000000400', '0000000400'])
    expect(reports('hidraw0')).toEqual([])
    expect(reports('hidraw2')).toEqual([])
  })

  it('is high when unkeyed, if active low', async () => {
    writeFileSync(join(folder, 'hidraw0'), '')
    const output = openHidOutput({ device: join(folder, 'hidraw0'), pin: 1, activeLow: true })
    output.key()
    await output.close()
    expect(reports('hidraw0')).toEqual(['0000010100', '0000000100', '0000010100'])
  })

  it('does not make a device that is missing', () => {
    expect(() =>
      openHidOutput({ device: join(folder, 'hidraw7'), pin: 3, activeLow: false }),
    ).toThrow(/hidraw7: cannot be opened: no such file/)
    expect(readdirSync(folder)).toEqual([])
  })
})

/** A program written for the occasion. */
function script(name: string, ...lines: string[]): string {
  const file = join(folder, name)
  writeFileSync(file, ['#!/bin/sh', ...lines, ''].join('\n'), { mode: 0o755 })
  return file
}
const told = (): string[] =>
  existsSync(join(folder, 'told'))
    ? readFileSync(join(folder, 'told'), 'utf8').trimEnd().split('\n')
    : []

describe.each([false, true])('command output, prepared: %s', (isPrepared) => {
  it('runs the programs with their arguments as they are, never through a shell', async () => {
    const program = script('key', `printf '%s|' "$@" >> ${folder}/told; echo >> ${folder}/told`)
    const output = await openCommandOutput(
      {
        keyCommand: [program, 'on', 'a b', '$HOME;`id`', '*'],
        unkeyCommand: [program, 'off'],
      },
      clock,
    )
    if (isPrepared) await output.prepare!()
    await output.key()
    await output.unkey()
    await output.close()
    expect(told()).toEqual(['off|', 'on|a b|$HOME;`id`|*|', 'off|', 'off|'])
  })

  it('ends a key command that is still running before it unkeys', async () => {
    const key = script('key', `sleep 0.15`, `echo on >> ${folder}/told`)
    const unkey = script('unkey', `echo off >> ${folder}/told`)
    const output = await openCommandOutput({ keyCommand: [key], unkeyCommand: [unkey] }, clock)
    if (isPrepared) await output.prepare!()
    const keying = Promise.resolve(output.key()).catch((error: Error) => error.message)
    await output.unkey()
    expect(await keying).toContain('got signal SIGKILL')
    await output.unkey()
    // at the start, at once and once more when the key command was gone, and when asked again
    expect(told()).toEqual(['off', 'off', 'off', 'off'])
  })

  it('fails by name when the key command fails, takes too long or is missing', async () => {
    const key = async (name: string): Promise<void> => {
      const output = await openCommandOutput(
        { keyCommand: [join(folder, name)], unkeyCommand: ['true'] },
        clock,
      )
      if (isPrepared) await output.prepare!()
      try {
        await output.key()
      } finally {
        await output.close()
      }
    }
    script('failing', 'exit 3')
    script('slow', 'exec sleep 20')
    await expect(key('failing')).rejects.toThrow('failing: got status 3')
    await expect(key('slow')).rejects.toThrow('slow: got no end within 200 ms')
    await expect(key('none')).rejects.toThrow('none: got no such program')
  })

  it('has ended what a key command began when it is ended', async () => {
    const key = script(
      'key',
      `(sleep 1; echo late >> ${folder}/told) &`,
      `echo keying >> ${folder}/told`,
      'wait',
    )
    const unkey = script('unkey', `echo off >> ${folder}/told`)
    const output = await openCommandOutput({ keyCommand: [key], unkeyCommand: [unkey] }, clock)
    if (isPrepared) await output.prepare!()
    const keying = Promise.resolve(output.key()).catch(() => {})
    await waitFor(() => (told().at(-1) === 'keying' ? true : undefined))
    await output.unkey()
    await keying
    // A shell of its own session is ended with all that it began; what was started from here is waited for.
    expect(told().includes('late')).toBe(!isPrepared)
    expect(told().at(-1)).toBe('off')
    await output.close()
  })
})

describe('command output', () => {
  it('fails by name when the program fails or is missing', async () => {
    const program = script('key', 'exit 3')
    await expect(
      openCommandOutput({ keyCommand: [program], unkeyCommand: [program, 'off'] }, clock),
    ).rejects.toThrow(`${program} off: got status 3`)
    await expect(
      openCommandOutput({ keyCommand: [program], unkeyCommand: [`${folder}/none`] }, clock),
    ).rejects.toThrow('got no such program')
  })

  it('prepared, has a shell that waits to unkey, and another when that one is gone', async () => {
    const off = script('off', `echo $PPID >> ${folder}/told`)
    const output = await openCommandOutput({ keyCommand: ['true'], unkeyCommand: [off] }, clock)
    await output.prepare!()
    await output.unkey()
    await output.unkey()
    const [here, shell, again] = told()
    expect(Number(here)).toBe(process.pid)
    expect(shell).not.toBe(here)
    expect(again).toBe(shell)
    process.kill(Number(shell), 'SIGKILL')
    await output.unkey()
    await waitFor(() => {
      void output.unkey()
      return Number(told().at(-1)) !== process.pid && told().at(-1) !== shell ? true : undefined
    })
    await output.close()
  })

  it('prepared, has a shell that waits to key, and another when that one is gone', async () => {
    const on = script('on', `echo $PPID >> ${folder}/told`)
    const output = await openCommandOutput({ keyCommand: [on], unkeyCommand: ['true'] }, clock)
    await output.prepare!()
    await output.key()
    await output.key()
    const [shell, again] = told()
    expect(Number(shell)).not.toBe(process.pid)
    expect(again).toBe(shell)
    process.kill(Number(shell), 'SIGKILL')
    await output.key()
    await waitFor(() => {
      void Promise.resolve(output.key()).catch(() => {}) // the last one is ended by close()
      return Number(told().at(-1)) !== process.pid && told().at(-1) !== shell ? true : undefined
    })
    await output.close()
  })

  it('prepared, ends a command that takes too long, and goes on', async () => {
    const off = script(
      'off',
      `[ -e ${folder}/slow ] && exec sleep 20`,
      `echo off >> ${folder}/told`,
    )
    const output = await openCommandOutput({ keyCommand: ['true'], unkeyCommand: [off] }, clock)
    await output.prepare!()
    writeFileSync(join(folder, 'slow'), '')
    await expect(output.unkey()).rejects.toThrow('off: got no end within 200 ms')
    rmSync(join(folder, 'slow'))
    await output.unkey()
    await output.close()
    expect(told().filter((word) => word === 'off')).toHaveLength(3)
  })

  it('unkeys by itself when whoever has it dies, and the key command dies as well', async () => {
    const off = script('off', `echo off >> ${folder}/told`)
    const on = script(
      'on',
      `echo keying >> ${folder}/told`,
      'sleep 0.15',
      `echo on >> ${folder}/told`,
    )
    const owner = spawn(process.execPath, [
      '--input-type=module',
      '-e',
      `import { openCommandOutput } from ${JSON.stringify(compiled('src/ptt/commandOutput.js'))}
      import { systemClock } from ${JSON.stringify(compiled('src/runtime/systemClock.js'))}
      const commands = ${JSON.stringify({ keyCommand: [on], unkeyCommand: [off] })}
      const output = await openCommandOutput(commands, systemClock())
      await output.prepare()
      await output.key()`,
    ])
    try {
      await waitFor(() => (told().at(-1) === 'keying' ? true : undefined))
    } finally {
      owner.kill('SIGKILL')
    }
    await waitFor(() => (told().length >= 4 ? true : undefined))
    await new Promise((resolve) => setTimeout(resolve, 200))
    expect(told()).toEqual(['off', 'keying', 'off', 'off'])
  })
})

// No machine that builds this has a GPIO chip: these tests run the real code against a program of the tools' name that writes
// down how it was called. The forms are those of the tools' help texts.
describe.skipIf(!isThere('setpriv'))('GPIO output, against a stand-in for gpioset', () => {
  const path = process.env.PATH
  afterEach(() => {
    process.env.PATH = path
  })

  // It ends what it began by KILL: what was forked just now would lose another signal, and live on.
  const standIn = (version: string): void => {
    script(
      'gpioset',
      `if [ "$1" = --version ]; then echo "gpioset (libgpiod) v${version}"; exit 0; fi`,
      `trap 'echo released >> ${folder}/told; kill -KILL $!; exit 0' TERM`,
      `echo "$*" >> ${folder}/told`,
      `case "$*" in *" 7="*) echo busy >> ${folder}/told; exit 1;; esac`,
      'sleep 60 &',
      'wait',
    )
    process.env.PATH = `${folder}:${path}`
  }

  /** A tool has settled once it has told how it was called, however long other programs keep it from the processor. */
  const onceTold: Clock = {
    ...clock,
    at(_, run) {
      let isCancelled = false
      const holds = (): true | undefined =>
        isCancelled || (told().length > 0 && told().at(-1) !== 'released') ? true : undefined
      void waitFor(holds).then(() => isCancelled || run())
      return () => {
        isCancelled = true
      }
    },
  }

  it.each([
    { version: '1.6.3', words: '--mode=signal gpiochip0 17=' },
    { version: '2.2.1', words: '--chip gpiochip0 17=' },
  ])('holds the line by a child all the time, tools of version $version', async (row) => {
    standIn(row.version)
    const line = { chip: 'gpiochip0', line: 17, activeLow: false }
    const output = await openGpioOutput(line, onceTold)
    await output.key()
    await output.unkey()
    await output.close()
    const [off, on] = [`${row.words}0`, `${row.words}1`]
    expect(told()).toEqual([off, 'released', on, 'released', off, 'released', off, 'released'])
  })

  it('is high when unkeyed, if active low', async () => {
    standIn('1.6.3')
    const output = await openGpioOutput({ chip: 'gpiochip0', line: 4, activeLow: true }, onceTold)
    await output.close()
    expect(told()[0]).toBe('--mode=signal gpiochip0 4=1')
  })

  it('says so when the line cannot be had', async () => {
    standIn('1.6.3')
    await expect(
      openGpioOutput({ chip: 'gpiochip0', line: 7, activeLow: false }, clock),
    ).rejects.toThrow('gpioset --mode=signal gpiochip0 7=0: got status 1')
  })
})
